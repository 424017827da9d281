"""What a tablet needs to judge without signal: the engine's own source as one file, and Python for the browser.

The file holds `engine/` and the few modules that make a deck of a record and words of a verdict. Its name carries a
hash of all that is in it, and so does the store in which the tablet keeps it: the versions of tablet and server never
mix, and a verdict that was worked out on a tablet says by which.
"""

import hashlib
import io
import zipfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_GET

import engine
from inspections.sync.access import for_tablets

RUNTIME = "vendor/pyodide-314.0.7"  # CPython 3.14 compiled to WebAssembly; see the README beside it
RUNTIME_FILES = ("pyodide.mjs", "pyodide.asm.mjs.gz", "pyodide.asm.wasm.gz", "python_stdlib.zip", "pyodide-lock.json")
# Of the application itself only what knows no Django; `inspections.survey.tablet` is the door.
MODULES = (
    "inspections/__init__.py",
    "inspections/drawings/*.py",
    "inspections/findings/__init__.py",
    "inspections/findings/from_check.py",
    "inspections/survey/__init__.py",
    *(
        f"inspections/survey/{name}.py"
        for name in ("chain", "fit", "record", "rule_words", "shown", "tablet", "typed", "verdicts", "wording")
    ),
)
_ENGINE = ("engine/**/*.py", "engine/data/*.json")
_ANY_DAY = (1980, 1, 1, 0, 0, 0)  # the same content makes the same file


@dataclass(frozen=True)
class Source:
    """The file as it is sent. `version` is 12 digits of the hash of its content."""

    data: bytes
    version: str


@cache
def engine_source() -> Source:
    """Packed once, when it is first asked for: the source does not change while the server runs."""
    root = Path(settings.BASE_DIR)
    paths = sorted({path for pattern in (*_ENGINE, *MODULES) for path in root.glob(pattern)})
    digest, packed = hashlib.sha256(), io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in paths:
            name, content = path.relative_to(root).as_posix(), path.read_bytes()
            digest.update(f"{name}\0{len(content)}\0".encode() + content)
            archive.writestr(zipfile.ZipInfo(name, _ANY_DAY), content, zipfile.ZIP_DEFLATED)
    return Source(packed.getvalue(), digest.hexdigest()[:12])


@cache
def judging() -> dict[str, object]:
    """Where a tablet finds it all: `files` by address with their bytes, and the name of the store they are kept in."""
    source = engine_source()
    address = reverse("sync-engine", args=[source.version])
    runtime = f"{settings.STATIC_URL}{RUNTIME}/"
    files = {f"{runtime}{name}": Path(finders.find(f"{RUNTIME}/{name}")).stat().st_size for name in RUNTIME_FILES}
    return {
        "version": f"{engine.__version__}, {source.version}",
        "store": f"verdicts-{RUNTIME.rsplit('-', 1)[1]}-{source.version}",
        "runtime": runtime,
        "engine": address,
        "files": {address: len(source.data), **files},
    }


@for_tablets
@require_GET
def sync_engine(request: HttpRequest, version: str) -> HttpResponse:
    """The source under its hash, to be kept for ever; 404 for one that this server does not run."""
    source = engine_source()
    if version != source.version:
        raise Http404
    response = HttpResponse(source.data, content_type="application/zip")
    response["Cache-Control"] = "private, max-age=31536000, immutable"
    return response

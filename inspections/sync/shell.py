"""The application as something to install: manifest, service worker, and the page for what is not on the tablet."""

import hashlib
import json
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

from firm.branding.models import Firm
from firm.people.capabilities import open_to_all

_FOLDERS = ("css", "js", "img", "vendor/fonts")
_ENDINGS = (".css", ".js", ".svg", ".png", ".woff2")
_HTMX = ("django_htmx/htmx-2.min.js", "django_htmx/django-htmx.js")


@open_to_all
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    name = Firm.current().name
    return JsonResponse(
        {
            "name": f"Soundings, {name}",
            "short_name": "Soundings",
            "id": "/",
            "start_url": reverse("home"),
            "scope": "/",
            "display": "standalone",
            "background_color": "#f6f3ec",
            "theme_color": "#16242c",
            "icons": [
                {"src": static(f"img/icon-{px}.png"), "sizes": f"{px}x{px}", "type": "image/png", "purpose": purpose}
                for px in (192, 512)
                for purpose in ("any", "maskable")
            ],
        },
        content_type="application/manifest+json",
    )


@open_to_all
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """The worker with the list of what it keeps; a change in any of these files makes it a new one."""
    files = shell_files()
    version = hashlib.sha256()
    for name in files:
        version.update(name.encode())
        version.update(Path(finders.find(name)).read_bytes())
    addresses = [*dict.fromkeys([static(name) for name in files] + [static_plain(name) for name in files])]
    addresses.append(reverse("off-line"))
    head = (
        f"const VERSION = {json.dumps(version.hexdigest()[:16])};\n"
        f"const OFF_LINE = {json.dumps(reverse('off-line'))};\n"
        f"const SHELL = {json.dumps(addresses)};\n"
    )
    body = Path(finders.find("js/offline/worker.js")).read_text(encoding="utf-8")
    response = HttpResponse(head + body, content_type="text/javascript")
    response["Cache-Control"] = "no-cache"
    return response


@open_to_all
@require_safe
def off_line(request: HttpRequest) -> HttpResponse:
    """Shown by the tablet in place of a page that it does not have. Holds nothing of anybody."""
    return render(request, "inspections/sync/off_line.html")


def shell_files() -> list[str]:
    """The static files that pages need, by name."""
    found = []
    for folder in _FOLDERS:
        root = finders.find(folder)
        if root:
            paths = sorted(path for path in Path(root).rglob("*") if path.suffix in _ENDINGS)
            found += [f"{folder}/{path.relative_to(root).as_posix()}" for path in paths]
    return [*found, *(name for name in _HTMX if finders.find(name))]


def static_plain(name: str) -> str:
    """The address without the hash: modules import each other by it."""
    from django.conf import settings

    return f"{settings.STATIC_URL}{name}"

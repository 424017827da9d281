"""All that is kept about one client, as a ZIP of JSON and files that can be read without this program."""

import json
import shutil
import tempfile
import zipfile
from typing import IO

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction

from firm import audit
from firm.clients.models import Client
from firm.people.models import User
from inspections.personal.gathering import fields_of, files_of, rows_about

READ_ME = """All that is kept about one client.

data.json   every record: the client, houses, visits, measurements, findings, reports, mails, and the history of changes
files/      photos and reports, under the names that data.json says
missing.txt is there if a record names a file that is gone

Left out are secrets that would let somebody in (the hashes of links and access codes).
"""


@transaction.atomic
def export_client(client: Client, *, by: User) -> IO[bytes]:
    """The ZIP, open at its beginning, in a temporary file that goes when it is closed; with an audit line."""
    audit.record(by, "exported the data of", client)
    rows = rows_about(client)
    data = {kind: [fields_of(row) for row in some] for kind, some in rows.items()}
    names = sorted({name for some in rows.values() for row in some for name in files_of(row)})
    out = tempfile.TemporaryFile(dir=settings.DATA_DIR)  # noqa: SIM115  the answer closes it
    missing = []
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("README.txt", READ_ME)
        archive.writestr("data.json", json.dumps(data, cls=DjangoJSONEncoder, indent=1, ensure_ascii=False))
        for name in names:
            try:
                source = default_storage.open(name, "rb")
            except FileNotFoundError:
                missing.append(name)
                continue
            stored = zipfile.ZipInfo(f"files/{name}")  # photos and PDFs do not become smaller
            with source, archive.open(stored, "w", force_zip64=True) as target:
                shutil.copyfileobj(source, target)
        if missing:
            archive.writestr("missing.txt", "\n".join(missing) + "\n")
    out.seek(0)
    return out

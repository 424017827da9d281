"""The whole firm as CSV files in one ZIP, with a note of what each column is: open to whatever comes after us."""

import csv
import io
import json
import tempfile
import zipfile
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files import File
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from firm.jobs.models import Job
from firm.jobs.work import GiveUp
from firm.web.sheets import safe_cell
from inspections.exchange.models import Export

ROOMS = (
    "branding", "people", "clients", "properties", "rules", "hours", "letters", "visits", "survey", "findings",
    "photos", "reports", "outside", "audit",
)  # fmt: skip
# What would let somebody in, or is only there to be searched; and people's second factors and devices as a whole.
LEFT_OUT_FIELDS = frozenset({"password", "token_hash", "code_hash", "search_text", "search_all", "content_sha256"})
PEOPLE = "people.user"
BATCH = 500

READ_ME = """The whole firm as tables: {firm}, {day}.

Each file is CSV (RFC 4180): commas, UTF-8 with its mark, CRLF, the names of the columns in the first line.
Moments are in UTC (ISO 8601). A column that ends in _id holds the id of a row in another file. Columns with
several values hold JSON. An apostrophe before = + - @ keeps spreadsheets from taking the cell for a formula;
leave it out.
Photos and PDFs are named by their path in the media folder; they are in the backups. Passwords, second factors
and the secrets of links are left out.

"""


def run(job: Export) -> dict[str, Any]:
    """What the worker does."""
    from firm.branding.models import Firm

    firm = " ".join(Firm.current().name.split())
    found = tables()
    notes, count = [READ_ME.format(firm=firm, day=f"{timezone.localdate():%Y-%m-%d}")], 0
    with tempfile.TemporaryFile(dir=settings.DATA_DIR) as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for number, model in enumerate(found):
                _go_on(job, f"Writing {model._meta.verbose_name_plural}", 5 + 90 * number // len(found))
                rows = _write(archive, model)
                notes.append(_note(model, rows))
                count += rows
            archive.writestr("README.txt", "".join(notes))
        out.seek(0)
        _go_on(job, "Keeping the file", 95)
        name = f"firm-{timezone.localdate():%Y-%m-%d}-{job.pk}.zip"
        job.file.storage.delete(f"{job.file.field.upload_to}{name}")  # of an attempt that was killed before it said so
        job.file.save(name, File(out), save=False)
    return {"file": job.file.name, "row_count": count}


def _go_on(job: Export, stage: str, progress_percent: int) -> None:
    """Raises GiveUp for one who was thought dead: the rows it read may hold somebody who was erased since."""
    if not job.say(stage, progress_percent):
        raise GiveUp("Another worker took it up.")


def tables() -> list[type[models.Model]]:
    """Every kind of row that is the firm's, and no jobs: those are about this installation."""
    found = [model for room in ROOMS for model in apps.get_app_config(room).get_models()]
    return [
        model
        for model in found
        if not issubclass(model, Job) and (model._meta.app_label != "people" or model._meta.label_lower == PEOPLE)
    ]


def columns(model: type[models.Model]) -> list[models.Field]:
    return [field for field in model._meta.concrete_fields if field.attname not in LEFT_OUT_FIELDS]


def _write(archive: zipfile.ZipFile, model: type[models.Model]) -> int:
    fields, count = columns(model), 0
    with archive.open(f"{_name(model)}.csv", "w", force_zip64=True) as raw:
        text = io.TextIOWrapper(raw, encoding="utf-8-sig", newline="")
        writer = csv.writer(text)
        writer.writerow([field.attname for field in fields])
        for row in _rows(model):
            writer.writerow([_cell(field.value_from_object(row)) for field in fields])
            count += 1
        text.flush()
        text.detach()
    return count


def _rows(model: type[models.Model]) -> Iterator[models.Model]:
    return model._base_manager.order_by("pk").iterator(chunk_size=BATCH)


def _cell(value: Any) -> str:
    if isinstance(value, dict | list):
        return safe_cell(json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value) if isinstance(value, int | float) else safe_cell(_plain(value))


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value


def _name(model: type[models.Model]) -> str:
    return model._meta.label_lower.replace(".", "_")


def _note(model: type[models.Model], rows: int) -> str:
    """A file's columns, with what each holds."""
    lines = [f"{_name(model)}.csv ({rows} rows): {model._meta.verbose_name_plural}"]
    for field in columns(model):
        points = f"; id of a row in {_name(field.related_model)}.csv" if field.related_model else ""
        help_text = f"; {field.help_text}" if field.help_text else ""
        lines.append(f"    {field.attname}: {field.verbose_name}{points}{help_text}")
    return "\n".join(lines) + "\n\n"

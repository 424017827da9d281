"""A backup into an empty database and an empty media folder, or nothing at all.

The archive is read through and checked before anything is touched. Each table is read back after loading and its digest
compared with the one that was noted when the backup was made. Until the last step is done, a marker in the data folder
keeps the application from starting on half a firm.
"""

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyrage
from django.apps import apps
from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import connection, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model

from firm.audit import triggers
from firm.audit.models import AuditEntry
from firm.backup import archive, rows
from firm.backup.making import is_in_use
from firm.jobs.models import Job
from firm.jobs.sweep import job_classes
from firm.people.second_factor import locked_apps

MARKER = "restore-was-cut-off"
OPENED = "opened-backup-"  # begins the name of one that is decrypted for the while it is read
PUT_ASIDE = ".before-restore"
MAY_HAVE_BEEN_SENT = (
    "This waited when the backup was made and may have been sent since. Look before you let it run again."
)


class CannotBeRestored(Exception):
    """Nothing was restored; the text says why and what to do."""


@dataclass(frozen=True)
class Restored:
    at: str  # when the backup was made, ISO 8601
    rows: int
    files: int
    missing_files: list[str]
    held_mails: int
    locked_apps: int  # authenticator apps that were set up under another SECRET_KEY


def restore(path: Path, *, with_media: bool = True, say: Callable[[str], None] = lambda text: None) -> Restored:
    """Load a plain archive into the empty database of the settings. Raises CannotBeRestored, archive.Damaged."""
    say("Checking the file ...")
    manifest = archive.check(path)
    if is_in_use():
        raise CannotBeRestored("The database is not empty.")
    media = Path(settings.MEDIA_ROOT)
    staged = media.with_name(f"{media.name}.restoring")
    files = 0
    if with_media:
        say("Unpacking photos and reports ...")
        files = _stage_media(path, staged)
    with marked():
        say("Loading the rows ...")
        empty_the_database()  # an attempt that was cut off may have left tables without rows
        count = _load(path, manifest)
        if with_media:
            _swap(staged, media)
        say("Bringing it up to date ...")
        call_command("migrate", verbosity=0, interactive=False)
        held = _hold_what_may_have_been_sent()
    return Restored(manifest["at"], count, files, manifest["missing_files"], held, locked_apps())


def empty_the_database() -> None:
    """Take our tables away. The caller has made sure that what was in them is kept somewhere."""
    if connection.vendor == "sqlite":
        name = Path(connection.settings_dict["NAME"])
        connection.close()
        for path in (name, name.with_name(f"{name.name}-wal"), name.with_name(f"{name.name}-shm")):
            path.unlink(missing_ok=True)
        return
    ours = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    ours |= {model._meta.db_table for model in rows.models_at(connection, rows.applied_schema(connection))}
    with connection.cursor() as cursor:
        there = connection.introspection.table_names(cursor)
        for table in sorted((ours | {MigrationRecorder.Migration._meta.db_table}) & set(there)):
            cursor.execute(f"DROP TABLE {connection.ops.quote_name(table)} CASCADE")


def marker() -> Path:
    return Path(settings.DATA_DIR) / MARKER


@contextmanager
def marked() -> Iterator[None]:
    """While the block runs, and after it fails, the application refuses to start."""
    marker().parent.mkdir(parents=True, exist_ok=True)
    marker().write_text("Run the restore again.\n", encoding="ascii")
    yield
    marker().unlink()


@contextmanager
def opened(path: Path, identity_file: Path | None, folder: Path) -> Iterator[Path]:
    """The plain archive of a file that may be encrypted. Raises CannotBeRestored if the key does not fit."""
    with path.open("rb") as source:
        is_age = source.read(3) == b"age"
    if not is_age:
        yield path
        return
    if identity_file is None:
        raise CannotBeRestored("The file is encrypted: name the file with its secret key (--key).")
    keys = [line for line in identity_file.read_text().splitlines() if line.strip() and not line.startswith("#")]
    try:
        identities = [pyrage.x25519.Identity.from_str(key.strip()) for key in keys]
    except pyrage.IdentityError as error:
        raise CannotBeRestored(f"{identity_file} holds no age secret key.") from error
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=folder, prefix=OPENED, suffix=".tar") as plain, path.open("rb") as source:
        try:
            pyrage.decrypt_io(source, plain, identities)
        except (pyrage.DecryptError, OSError) as error:
            raise CannotBeRestored(f"The key does not open this file, or the file is damaged ({error}).") from error
        plain.flush()
        yield Path(plain.name)


def _load(path: Path, manifest: dict[str, Any]) -> int:
    try:
        rows.migrate_to(connection, manifest["schema"])
    except rows.FromTheFuture as error:
        raise CannotBeRestored(str(error)) from error
    models = {model._meta.label_lower: model for model in rows.models_at(connection, manifest["schema"])}
    if models.keys() != manifest["tables"].keys():
        odd = sorted(models.keys() ^ manifest["tables"].keys())
        raise CannotBeRestored(f"Its tables are not those of its migrations: {', '.join(odd[:5])}")
    count = 0
    with transaction.atomic():
        triggers.lift(connection)
        for model in models.values():
            _empty(model)
        for name, content in archive.read_members(path):
            if name.startswith("rows/"):
                label = name.removeprefix("rows/").removesuffix(".jsonl.gz")
                count += rows.load_table(models[label], content)
        connection.check_constraints()
        for label, model in models.items():
            if rows.write_table(model) != (manifest["tables"][label]["rows"], manifest["tables"][label]["sha256"]):
                raise CannotBeRestored(f"The rows of {label} did not come back as they were.")
        rows.let_numbers_go_on(connection, list(models.values()))
        triggers.put(connection)
    verdict = AuditEntry.objects.verify() if _is_current(manifest) else None
    if verdict and verdict.misfit:
        raise CannotBeRestored(f"The audit trail does not fit at line {verdict.misfit.position}.")
    return count


def _is_current(manifest: dict[str, Any]) -> bool:
    """Whether the audit lines of this version can be read before the migrations of later ones ran."""
    return "0003_guard" in manifest["schema"].get("audit", [])


def _empty(model: type[Model]) -> None:
    """Take away what migrations put in: the backup has it too."""
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")  # noqa: S608  our own name


def _stage_media(path: Path, staged: Path) -> int:
    shutil.rmtree(staged, ignore_errors=True)
    staged.mkdir(parents=True)
    files = 0
    try:
        for name, content in archive.read_members(path):
            if name.startswith("media/"):
                archive.copy(content, staged / name.removeprefix("media/"))
                files += 1
    except OSError as error:
        shutil.rmtree(staged, ignore_errors=True)
        raise CannotBeRestored(f"Photos and reports could not be unpacked: {error.strerror or error}.") from error
    return files


def _swap(staged: Path, media: Path) -> None:
    if settings.MEDIA_BUCKET:
        for path in sorted(staged.rglob("*")):
            if path.is_file():
                with path.open("rb") as content:
                    default_storage.put(path.relative_to(staged).as_posix(), content)
        shutil.rmtree(staged)
        return
    if media.exists() and not any(media.iterdir()):
        media.rmdir()
    if media.exists():
        aside = media.with_name(f"{media.name}{PUT_ASIDE}")
        shutil.rmtree(aside, ignore_errors=True)
        media.rename(aside)
    staged.rename(media)


def _hold_what_may_have_been_sent() -> int:
    """Mails that waited in the backup are not sent again by themselves: their first copy may be long delivered."""
    held = 0
    for job_class in job_classes():
        if _sends(job_class):
            held += job_class._default_manager.filter(state__in=["waiting", "running"]).update(
                state="failed", lease_until=None, error=MAY_HAVE_BEEN_SENT
            )
    return held


def _sends(job_class: type[Job]) -> bool:
    return any(field.name == "sent_at" for field in job_class._meta.concrete_fields)

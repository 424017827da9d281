"""Making one backup: a file that is whole, or no file at all."""

import hashlib
import os
import platform
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO

import django
import pyrage
from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from firm.backup import archive, rows
from firm.backup.proving import TRIAL
from firm.web.storage import force_to_disk

UNFINISHED = ".unfinished"
LABEL = re.compile(r"[a-z][a-z-]*\Z")


class CannotBeMade(Exception):
    """No backup was made; the text says why and what to do."""


@dataclass(frozen=True)
class Made:
    path: Path
    size: int  # bytes
    sha256: str
    rows: int
    files: int
    missing_files: list[str]  # named by a row, and not in the media folder


def make_backup(
    folder: Path, label: str = "backup", recipient: str = "", prove: Callable[[Path], None] | None = None
) -> Made:
    """One backup of the whole firm in `folder`, named by label and moment (UTC).

    `recipient` is an age public key ("age1..."): the file can then be opened only with its secret half. `prove` is
    called with the finished archive before it is encrypted; what it raises leaves no file behind.
    Raises CannotBeMade.
    """
    if not LABEL.match(label):
        raise CannotBeMade(f"{label!r} is no label: small letters and hyphens.")
    key = read_recipient(recipient) if recipient else None
    if not is_in_use():
        raise CannotBeMade("The database is empty: there is nothing to back up.")
    now = timezone.now()
    name = f"soundings-{label}-{now:%Y-%m-%dT%H%M%SZ}.tar"
    plain, target = folder / f"{name}{UNFINISHED}", folder / (f"{name}.age" if key else name)
    if target.exists():
        raise CannotBeMade(f"{target} is there already; wait a second.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with _created(plain) as stream:
            counts = _write(stream, folder, label, now.isoformat(timespec="seconds"))
            _settle(stream)
        if prove:
            prove(plain)
        if key:
            _encrypt(plain, key)
        size, sha256 = plain.stat().st_size, _sha256(plain)
        plain.replace(target)
        force_to_disk(folder)
    except OSError as error:
        raise CannotBeMade(f"The backup could not be written to {folder}: {error.strerror or error}.") from error
    finally:
        plain.unlink(missing_ok=True)
    return Made(target, size, sha256, *counts)


def is_in_use() -> bool:
    """Whether there is anybody in the database: then it is a firm's."""
    if "people_user" not in connection.introspection.table_names():
        return False
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM people_user LIMIT 1")
        return cursor.fetchone() is not None


def read_recipient(text: str) -> Any:
    try:
        return pyrage.x25519.Recipient.from_str(text.strip())
    except pyrage.RecipientError as error:
        raise CannotBeMade(f"{text!r} is no age public key; one begins with age1.") from error


def remove_unfinished(folder: Path, older_than_s: float = 86_400) -> None:
    """What killed backups left behind: half a file, or the database of a trial, which nothing encrypts."""
    for left in (*folder.glob(f"*{UNFINISHED}*"), *folder.glob(f"{TRIAL}*")):
        try:
            if timezone.now().timestamp() - left.stat().st_mtime <= older_than_s:
                continue
        except FileNotFoundError:
            continue  # it was done meanwhile
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)


def _write(stream: BinaryIO, folder: Path, label: str, at: str) -> tuple[int, int, list[str]]:
    writer = archive.Writer(stream, folder)
    tables: dict[str, dict[str, Any]] = {}
    named: set[str] = set()
    with rows.one_moment(connection):
        schema = rows.applied_schema(connection)
        for model in rows.models_at(connection, schema):
            label_of_model = model._meta.label_lower
            with writer.member(f"rows/{label_of_model}.jsonl.gz") as out:
                count, digest = rows.write_table(model, out)
            tables[label_of_model] = {"rows": count, "sha256": digest}
            named.update(rows.file_names(model))
    # A file is written before the row that names it, so each that the rows name is there now unless it was lost.
    present = 0
    for relative, add in _media():
        try:
            add(writer, f"media/{relative}")
        except FileNotFoundError:
            continue  # removed while we went along; if a row names it, it is reported below
        named.discard(relative)
        present += 1
    missing = sorted(named)
    writer.add_json(
        archive.MANIFEST,
        {
            "format": archive.FORMAT,
            "label": label,
            "at": at,
            "database": connection.vendor,
            "versions": {"python": platform.python_version(), "django": django.get_version()},
            "schema": schema,
            "tables": tables,
            "files": present,
            "missing_files": missing,
        },
    )
    writer.close()
    return sum(table["rows"] for table in tables.values()), present, missing


def _media() -> Iterator[tuple[str, Callable[[archive.Writer, str], None]]]:
    """The name of each media file, and how it is put into the archive."""
    if not settings.MEDIA_BUCKET:
        for path, relative in _media_files():
            yield relative, partial(_add_file, path)
        return
    for name in default_storage.names():
        yield name, partial(_add_object, name)


def _add_file(path: Path, writer: archive.Writer, name: str) -> None:
    writer.add_file(name, path)


def _add_object(stored: str, writer: archive.Writer, name: str) -> None:
    with default_storage.open(stored, "rb") as source:
        writer.add_open(name, source, source.size, default_storage.get_modified_time(stored).timestamp())


def _media_files() -> Iterator[tuple[Path, str]]:
    root = Path(settings.MEDIA_ROOT)
    for folder, folders, names in os.walk(root):
        folders.sort()
        for name in sorted(names):
            path = Path(folder) / name
            if path.is_file() and not path.is_symlink():
                yield path, path.relative_to(root).as_posix()


def _created(path: Path) -> BinaryIO:
    """A new file that only we may read: it holds what people trusted the firm with."""
    return os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b")


def _encrypt(path: Path, recipient: Any) -> None:
    sealed = path.with_suffix(f"{path.suffix}-age")
    try:
        with path.open("rb") as source, _created(sealed) as target:
            pyrage.encrypt_io(source, target, [recipient])
            _settle(target)
        sealed.replace(path)
    finally:
        sealed.unlink(missing_ok=True)


def _settle(stream: BinaryIO) -> None:
    stream.flush()
    os.fsync(stream.fileno())


def _sha256(path: Path) -> str:
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()

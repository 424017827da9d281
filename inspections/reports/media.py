"""The files an issued report owns: copies under the name of their own content, which therefore cannot change."""

import hashlib
from pathlib import PurePath
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

FOLDER = "reports/frozen"


class FrozenFileDamaged(Exception):
    """A file of an issued report is gone, or no longer what it was when the report was issued."""


def keep_file(stored: Any) -> dict[str, Any]:
    """Copy a stored image (an ImageField's file) and say where the copy is: path, sha256, bytes.

    Copying the same content again changes nothing, so a report that is issued twice or half-way costs no second file.
    """
    with stored.open("rb") as source:
        content = source.read()
    sha256 = hashlib.sha256(content).hexdigest()
    path = f"{FOLDER}/{sha256}{PurePath(stored.name).suffix.lower()[:6]}"
    put_file(path, content)
    return {"path": path, "sha256": sha256, "bytes": len(content)}


def put_file(path: str, content: bytes) -> None:
    """Store content under exactly this name; one that a killed process wrote in part is written again."""
    if default_storage.exists(path):
        if default_storage.size(path) == len(content):
            return
        default_storage.delete(path)
    stored_as = default_storage.save(path, ContentFile(content))
    if stored_as != path:  # somebody stored it in the same instant; the content is the same, so one copy is enough
        default_storage.delete(stored_as)


def read_file(kept: dict[str, Any]) -> bytes:
    """The content of a kept file. Raises FrozenFileDamaged if it is gone or its SHA-256 is not what was noted."""
    try:
        with default_storage.open(kept["path"], "rb") as source:
            content = source.read()
    except FileNotFoundError as error:
        raise FrozenFileDamaged(f"{kept['path']} is gone") from error
    if hashlib.sha256(content).hexdigest() != kept["sha256"]:
        raise FrozenFileDamaged(f"{kept['path']} is not what was issued")
    return content

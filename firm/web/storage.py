import errno
import os
from pathlib import PurePosixPath
from typing import Any
from uuid import uuid4

from django.core.files.storage import FileSystemStorage
from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    """Static files under names that hold their content's hash, so that a browser may keep them for ever.

    Imports inside ES modules are not rewritten: Django would rewrite vendored files too and stumbles over them. They
    lead to the plain name, which is kept beside the hashed one and cached for a minute only. So a module that holds
    state is imported by others or named in a script tag, never both: those would be two copies of it.
    """


class WholeFiles(FileSystemStorage):
    """Media: a file is there whole or not at all, and after a power cut, too.

    It is written aside, forced to the disk and only then given its name. What a full disk or a killed process leaves
    behind never stands under the name that a row has.
    """

    def _save(self, name: str, content: Any) -> str:
        aside = str(PurePosixPath(name).with_name(f".{uuid4().hex}.part"))
        try:
            super()._save(aside, content)
            force_to_disk(self.path(aside))
            return self._give_name(aside, name)
        finally:
            if os.path.exists(self.path(aside)):
                os.unlink(self.path(aside))

    def _give_name(self, aside: str, name: str) -> str:
        while True:
            try:
                os.link(self.path(aside), self.path(name))
            except FileExistsError:
                name = self.get_available_name(name)
                continue
            except OSError as error:
                if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.ENOSYS):
                    raise
                os.replace(self.path(aside), self.path(name))  # a file system that has no links, as some network ones
            force_to_disk(os.path.dirname(self.path(name)))
            return str(name).replace("\\", "/")


def force_to_disk(path: str | os.PathLike[str]) -> None:
    """Wait until a file, or the names in a folder, would be there after a power cut."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)

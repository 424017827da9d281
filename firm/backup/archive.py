"""The file that a backup is: an ordinary tar archive, so that it can be opened in twenty years without this program.

manifest.json                  what it is, when, of which version, with how many rows in which table
rows/<app>.<model>.jsonl.gz    one row a line, column by column
media/...                      photos and PDFs as they lie in the media folder
checksums.json                 SHA-256 and size of each member above; written last, so a cut-off file has none
"""

import hashlib
import json
import shutil
import tarfile
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO

FORMAT = "soundings backup 1"
MANIFEST = "manifest.json"
CHECKSUMS = "checksums.json"
CHUNK = 1 << 20


class Damaged(Exception):
    """The file is not a whole backup of ours; the text says what is wrong with it."""


@dataclass
class Writer:
    """Writes the members one after the other. `folder` is where a member waits whose size is not known yet."""

    stream: BinaryIO
    folder: Path
    _checksums: dict[str, dict[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._tar = tarfile.open(  # noqa: SIM115  closed by close()
            fileobj=self.stream, mode="w|", format=tarfile.PAX_FORMAT
        )

    def add_json(self, name: str, content: Any) -> None:
        with self.member(name) as out:
            out.write(json.dumps(content, indent=1, ensure_ascii=False).encode())

    @contextmanager
    def member(self, name: str) -> Iterator[BinaryIO]:
        """A member written in the block; it goes into the archive at the end of it."""
        with tempfile.TemporaryFile(dir=self.folder) as waiting:
            yield waiting
            size = waiting.tell()
            waiting.seek(0)
            self._add(name, waiting, size, time.time())

    def add_file(self, name: str, path: Path) -> None:
        """A file as it lies. Raises FileNotFoundError, and OSError if it gets shorter while it is read."""
        with path.open("rb") as source:
            about = path.stat()
            self._add(name, source, about.st_size, about.st_mtime)

    def add_open(self, name: str, source: BinaryIO, size: int, changed_at: float) -> None:
        """What is open already, from wherever it comes."""
        self._add(name, source, size, changed_at)

    def close(self) -> None:
        self.add_json(CHECKSUMS, {"format": FORMAT, "members": dict(self._checksums)})
        self._tar.close()

    def _add(self, name: str, source: BinaryIO, size: int, changed_at: float) -> None:
        about = tarfile.TarInfo(name)
        about.size, about.mode, about.mtime = size, 0o600, int(changed_at)
        hashing = _Hashing(source)
        self._tar.addfile(about, hashing)
        self._checksums[name] = {"sha256": hashing.digest.hexdigest(), "bytes": size}


class _Hashing:
    """A stream that remembers the digest of what was read from it."""

    def __init__(self, source: Any) -> None:
        self._source = source
        self.digest = hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        data = self._source.read(size)
        self.digest.update(data)
        return data


def read_members(path: Path) -> Iterator[tuple[str, BinaryIO]]:
    """Name and content of each member, in order. Raises Damaged for what no backup holds."""
    try:
        with tarfile.open(path, mode="r:") as tar:
            for about in tar:
                content = tar.extractfile(about) if about.isreg() else None
                if content is None or not _is_a_name_of_ours(about.name):
                    raise Damaged(f"{about.name!r} does not belong in a backup")
                yield about.name, content
    except (tarfile.TarError, EOFError) as error:
        raise Damaged(f"the archive breaks off or is none ({error})") from error


def check(path: Path) -> dict[str, Any]:
    """Read the whole file and compare every checksum; the manifest. Raises Damaged with the first thing wrong."""
    try:
        return _check(path)
    except (tarfile.TarError, EOFError) as error:  # in the middle of a member
        raise Damaged(f"the archive breaks off ({error})") from error


def _check(path: Path) -> dict[str, Any]:
    found: dict[str, dict[str, Any]] = {}
    manifest = checksums = None
    for name, content in read_members(path):
        if checksums is not None:
            raise Damaged(f"{name!r} was added behind the end")
        if name in found:
            raise Damaged(f"{name!r} is in it twice")
        if name == CHECKSUMS:
            checksums = _json(name, content.read())
            continue
        hashing = _Hashing(content)
        kept = hashing.read() if name == MANIFEST else None
        size = len(kept) if kept is not None else _length(hashing)
        found[name] = {"sha256": hashing.digest.hexdigest(), "bytes": size}
        if kept is not None:
            manifest = _json(name, kept)
    if checksums is None:
        raise Damaged("it has no end: it was cut off while it was written or copied")
    if checksums.get("format") != FORMAT or not isinstance(checksums.get("members"), dict):
        raise Damaged(f"it is not of the kind {FORMAT!r}")
    for name in sorted(found.keys() | checksums["members"].keys()):
        if found.get(name) != checksums["members"].get(name):
            raise Damaged(f"{name!r} is not what was written")
    if manifest is None:
        raise Damaged("it has no manifest")
    return manifest


def copy(content: BinaryIO, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("wb") as out:
        shutil.copyfileobj(content, out, CHUNK)


def _length(stream: _Hashing) -> int:
    length = 0
    while data := stream.read(CHUNK):
        length += len(data)
    return length


def _json(name: str, content: bytes) -> dict[str, Any]:
    try:
        answer = json.loads(content)
    except ValueError as error:
        raise Damaged(f"{name!r} cannot be read") from error
    if not isinstance(answer, dict):
        raise Damaged(f"{name!r} cannot be read")
    return answer


def _is_a_name_of_ours(name: str) -> bool:
    path = PurePosixPath(name)
    if name in (MANIFEST, CHECKSUMS):
        return True
    is_in_a_folder_of_ours = len(path.parts) > 1 and path.parts[0] in ("rows", "media")
    return is_in_a_folder_of_ours and ".." not in path.parts and str(path) == name and "\0" not in name

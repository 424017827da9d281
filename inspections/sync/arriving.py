"""Photos that come in piece by piece: a torn connection goes on where it broke off."""

import hashlib
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from uuid import UUID

from django.conf import settings
from django.core.files import File
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models.functions import Length
from django.utils import timezone

from inspections.photos.intake import PhotoRefused
from inspections.sync.models import ArrivingPhoto, PhotoPiece

LARGEST_PIECE_BYTES = 2 * 1024 * 1024
DAMAGED = -1
_FORGOTTEN_AFTER = timedelta(days=30)


class Incomplete(Exception):
    """Bytes are missing; `received` are there from the beginning on."""

    def __init__(self, received: int) -> None:
        super().__init__("incomplete")
        self.received = received


class WrongPiece(ValueError):
    """The piece does not belong where it says; the message is words for people."""


def received_bytes(photo_id: UUID, *, by) -> int:
    """How much of the photo is here, from its first byte on without a gap."""
    reached = 0
    pieces = PhotoPiece.objects.filter(photo_id=photo_id, photo__by=by).annotate(byte_count=Length("data"))
    for starts_at_byte, byte_count in pieces.order_by("starts_at_byte").values_list("starts_at_byte", "byte_count"):
        if starts_at_byte != reached:
            break
        reached += byte_count
    return reached


@transaction.atomic
def take_piece(photo_id: UUID, *, by, sha256: str, byte_count: int, starts_at_byte: int, data: bytes) -> int:
    """Keep some bytes of a photo. Returns how much is here now; a piece that is here already changes nothing.

    Raises WrongPiece, and PhotoRefused for a photo that is too large to be taken in at all.
    """
    if byte_count > settings.PHOTO_MAX_BYTES:
        most_mb = settings.PHOTO_MAX_BYTES // 1024 // 1024
        raise PhotoRefused("A photo", f"it is larger than the {most_mb} MB that are taken.")
    if not data or len(data) > LARGEST_PIECE_BYTES or starts_at_byte < 0 or starts_at_byte + len(data) > byte_count:
        raise WrongPiece("This piece does not fit into the photo.")
    ArrivingPhoto.objects.filter(created_at__lt=timezone.now() - _FORGOTTEN_AFTER).delete()
    photo, _ = ArrivingPhoto.objects.get_or_create(
        pk=photo_id, defaults={"by": by, "sha256": sha256, "byte_count": byte_count}
    )
    if (photo.by_id, photo.sha256, photo.byte_count) != (by.pk, sha256, byte_count):
        raise WrongPiece("Another photo has this number.")
    ArrivingPhoto.objects.select_for_update().get(pk=photo_id)
    if starts_at_byte == received_bytes(photo_id, by=by):
        PhotoPiece.objects.create(photo=photo, starts_at_byte=starts_at_byte, data=data)
    return received_bytes(photo_id, by=by)


@contextmanager
def whole_file(photo_id: UUID, name: str, *, by) -> Iterator[UploadedFile]:
    """The photo as one file. Raises Incomplete; with DAMAGED received, what came must be sent again from the start."""
    photo = ArrivingPhoto.objects.filter(pk=photo_id, by=by).first()
    received = received_bytes(photo_id, by=by)
    if photo is None or received < photo.byte_count:
        raise Incomplete(received)
    digest = hashlib.sha256()
    with tempfile.TemporaryFile() as kept:
        for piece in photo.pieces.iterator(chunk_size=4):
            digest.update(piece.data)
            kept.write(piece.data)
        if digest.hexdigest() != photo.sha256:
            raise Incomplete(DAMAGED)
        kept.seek(0)
        yield UploadedFile(File(kept), name=name, size=photo.byte_count)


def forget(photo_id: UUID, *, by) -> None:
    ArrivingPhoto.objects.filter(pk=photo_id, by=by).delete()

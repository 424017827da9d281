"""Taking photos in, and taking them back."""

from uuid import UUID, uuid4

from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from firm import audit
from firm.jobs.bell import ring
from inspections.findings.models import Finding
from inspections.photos.intake import Looked, PhotoRefused, look_at, printable_name
from inspections.photos.marks import MarksRefused, digest_of, read_marks
from inspections.photos.models import Photo, RenditionJob
from inspections.survey.models import Part
from inspections.visits.models import Visit
from inspections.visits.stages import begin

__all__ = [
    "MarksRefused", "PhotoAlreadyThere", "PhotoRefused", "describe_photo", "mark_photo", "remove_photo",
    "take_in_photo", "try_photo_again",
]  # fmt: skip


class PhotoAlreadyThere(PhotoRefused):
    """The very same file is in this visit already; `photo` is the one that is kept."""

    def __init__(self, file_name: str, photo: Photo) -> None:
        self.photo = photo
        super().__init__(file_name, "this photo is in the visit already. It is kept once.")


def take_in_photo(
    visit: Visit,
    upload: UploadedFile,
    *,
    by,
    finding: Finding | None = None,
    part: Part | None = None,
    link: str = "",
    caption: str = "",
    photo_id: UUID | None = None,
) -> Photo:
    """Check a file, keep it as it came, and let a worker make its renditions. Begins a booked visit.

    `photo_id` is that of a tablet, under which what is said of the photo later names it.

    Raises PhotoRefused, with a reason in words that names the file; PhotoAlreadyThere when the visit has it; NotYours
    and WrongState (inspections.visits.refusals) when this person may not write to this record now.
    """
    looked = look_at(upload)
    if twin := _twin(visit, looked):
        raise PhotoAlreadyThere(printable_name(upload.name), twin)
    photo = Photo(
        id=photo_id or uuid4(),
        visit=visit,
        finding=finding,
        part=part or (finding.part if finding else None),
        link=link or (finding.link if finding else part.vocabulary.link if part else ""),
        caption=caption.strip()[:200],
        sha256=looked.sha256,
        byte_count=upload.size,
        width_px=looked.width_px,
        height_px=looked.height_px,
        by=by,
    )
    try:
        with transaction.atomic():
            begin(visit, by=by)
            # The name is ours: whatever the file called itself, it is stored under the kind that was found in it.
            photo.original.save(f"original{looked.ending}", upload, save=False)
            photo.save()
            job = RenditionJob.objects.create(photo=photo)
            audit.record(by, "added", photo, after={"visit": visit.pk, "sha256": photo.sha256})
            ring(job)
    except BaseException as error:
        if photo.original.name:
            photo.original.storage.delete(photo.original.name)  # no row will ever name it
        if isinstance(error, IntegrityError) and (twin := _twin(visit, looked)):
            # Two uploads of one file at the same moment: the database let the first one in.
            raise PhotoAlreadyThere(printable_name(upload.name), twin) from error
        raise
    return photo


@transaction.atomic
def remove_photo(photo: Photo, *, by) -> None:
    """Take a photo out of the record. The row and its files stay; nothing happens the second time.

    Raises NotYours and WrongState, as take_in_photo does.
    """
    begin(photo.visit, by=by)
    now = timezone.now()
    if Photo.objects.filter(pk=photo.pk, removed_at__isnull=True).update(removed_at=now):
        photo.removed_at = now
        audit.record(by, "removed", photo)


@transaction.atomic
def describe_photo(photo: Photo, caption: str, *, by) -> None:
    """Change what stands under a photo. Raises NotYours and WrongState."""
    begin(photo.visit, by=by)
    caption = " ".join(caption.split())[:200]
    if caption != photo.caption:
        before, photo.caption = photo.caption, caption
        photo.save(update_fields=["caption"])
        audit.record(by, "described", photo, {"caption": before}, {"caption": caption})


@transaction.atomic
def mark_photo(photo: Photo, sent: str, *, by, before: str | None = None) -> None:
    """Keep the marks drawn on a photo, in place of those that it had; the picture itself is never touched.

    `sent` is the JSON of the marks (see `read_marks`). `before` is the `digest_of` what the person saw when they began.
    Raises MarksRefused (also if somebody else drew in between, or the picture is not prepared yet), NotYours and
    WrongState.
    """
    begin(photo.visit, by=by)
    marks = read_marks(sent)
    kept = Photo.objects.select_for_update().get(pk=photo.pk)
    if before is not None and before != digest_of(kept.marks):
        raise MarksRefused("Somebody changed the marks on this photo meanwhile. Open the photo again to see them.")
    if not kept.is_ready:
        raise MarksRefused("The photo is still being prepared. Try again in a moment.")
    was = kept.marks.get("marks", [])
    if marks != was:
        size = {"width_px": kept.screen.width, "height_px": kept.screen.height}
        photo.marks = kept.marks = {**size, "marks": marks} if marks else {}
        kept.save(update_fields=["marks"])
        audit.record(by, "marked", photo, {"marks": was}, {"marks": marks})


@transaction.atomic
def try_photo_again(photo: Photo) -> None:
    """Let the renditions of a photo be tried once more after the worker gave up, say when a full disk is emptied."""
    if photo.rendition_job.try_again():
        ring(photo.rendition_job)


def _twin(visit: Visit, looked: Looked) -> Photo | None:
    return Photo.objects.filter(visit=visit, sha256=looked.sha256, removed_at__isnull=True).first()

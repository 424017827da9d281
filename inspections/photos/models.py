import uuid
from pathlib import PurePath

from django.conf import settings
from django.db import models

from firm.jobs.models import Job
from inspections.findings.models import LINKS, Finding
from inspections.survey.models import Part
from inspections.visits.models import Visit


def _original_path(photo: "Photo", filename: str) -> str:
    return f"photos/{photo.visit_id}/{photo.pk}/original{PurePath(filename).suffix.lower()[:6]}"


def _rendition_path(photo: "Photo", filename: str) -> str:
    return f"photos/{photo.visit_id}/{photo.pk}/{filename}"


class PhotoQuerySet(models.QuerySet):
    def visible_to(self, user) -> "PhotoQuerySet":
        """Photos of the visits this person may see; one that was taken back is seen by nobody."""
        return self.filter(visit__in=Visit.objects.visible_to(user), removed_at__isnull=True)

    def standing(self) -> "PhotoQuerySet":
        """Those that were not taken back, with what a tile shows: the job that says how far each is, the part."""
        return self.filter(removed_at__isnull=True).select_related("rendition_job", "part")


class Photo(models.Model):
    """A photo taken at a visit: the original as it came, and the renditions a worker makes of it.

    Renditions are upright and carry no metadata: `thumb` 400 px, `screen` 1600 to 2000 px, `printable` at print size.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="photos")
    finding = models.ForeignKey(Finding, models.SET_NULL, null=True, blank=True, related_name="photos")
    part = models.ForeignKey(Part, models.SET_NULL, null=True, blank=True, related_name="photos")
    link = models.CharField(max_length=20, choices=LINKS, blank=True)
    caption = models.CharField(max_length=200, blank=True)
    original = models.FileField(upload_to=_original_path, max_length=200)
    sha256 = models.CharField(max_length=64)
    byte_count = models.PositiveIntegerField()
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    thumb = models.ImageField(upload_to=_rendition_path, max_length=200, blank=True)
    screen = models.ImageField(upload_to=_rendition_path, max_length=200, blank=True)
    printable = models.ImageField(upload_to=_rendition_path, max_length=200, blank=True)
    refused_because = models.CharField(max_length=200, blank=True)
    # What somebody drew on it: {"width_px", "height_px": of the upright picture, "marks": as `read_marks` gives them}.
    marks = models.JSONField(default=dict, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["created_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "sha256"],
                condition=models.Q(removed_at__isnull=True),
                name="photo_is_kept_once_a_visit",
            )
        ]

    def __str__(self) -> str:
        return self.caption or f"photo {self.pk}"

    @property
    def is_ready(self) -> bool:
        return bool(self.screen)


class RenditionJob(Job):
    """Makes the renditions of one photo."""

    task_name = "inspections.photos.make_renditions"

    photo = models.OneToOneField(Photo, models.CASCADE, related_name="rendition_job")

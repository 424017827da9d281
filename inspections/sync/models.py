import uuid

from django.conf import settings
from django.db import models

from inspections.visits.models import Visit


class SyncOperation(models.Model):
    """One thing that was done on a tablet, under the id that the tablet gave it, and what became of it here.

    The row is what makes it happen once: the same id again is answered from here. A conflict keeps both values
    (`answer["mine"]`, `answer["theirs"]`) until the inspector has chosen.
    """

    class Outcome(models.TextChoices):
        APPLIED = "applied", "Taken over"
        CONFLICT = "conflict", "Changed by another meanwhile"
        REFUSED = "refused", "Refused"

    id = models.UUIDField(primary_key=True, editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    visit = models.ForeignKey(Visit, models.PROTECT, null=True, related_name="sync_operations")
    kind = models.CharField(max_length=20)
    payload = models.JSONField()
    follows = models.UUIDField(null=True)  # the operation of the same tablet on the same fact that came before
    made_at = models.DateTimeField(null=True)  # by the tablet's clock, as it was told
    skew_s = models.IntegerField(default=0)  # how far the tablet's clock was behind ours
    received_at = models.DateTimeField(auto_now_add=True)
    outcome = models.CharField(max_length=10, choices=Outcome)
    answer = models.JSONField(default=dict)
    settled_at = models.DateTimeField(null=True)  # a conflict or refusal that its inspector has dealt with
    settled_how = models.CharField(max_length=12, blank=True)

    class Meta:
        ordering = ["received_at"]
        indexes = [models.Index(fields=["by", "outcome"], condition=models.Q(settled_at=None), name="sync_to_settle")]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"

    @property
    def heading(self) -> str:
        """What it was about, in words."""
        about = {
            "add_part": "A new part", "record_reading": "A measure", "clear_reading": "A measure taken back",
            "name_part": "What a part is called", "remove_part": "A part taken out", "add_fasteners": "Fasteners",
            "record_finding": "A finding", "remove_finding": "A finding taken out", "add_photo": "A photo",
            "describe_photo": "The words under a photo", "mark_photo": "Marks on a photo",
        }  # fmt: skip
        words = self.payload.get("label")
        return words if isinstance(words, str) and words else about.get(self.kind, "An entry")

    @property
    def entered(self) -> str:
        """What was typed, so that it can be entered again by hand."""
        fields = self.payload.get("fields")
        source = fields if isinstance(fields, dict) else self.payload
        texts = (
            source.get(name) for name in ("typed", "name", "title", "place", "seen", "meaning", "remedy", "caption")
        )
        return ", ".join(one for one in texts if isinstance(one, str) and one)


class ArrivingPhoto(models.Model):
    """A photo on its way from a tablet, piece by piece, under the id that the tablet gave it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    sha256 = models.CharField(max_length=64)
    byte_count = models.PositiveIntegerField()
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"arriving photo {self.pk}"


class PhotoPiece(models.Model):
    """Some bytes of an arriving photo. In the database, so that any web server of several can take the next ones."""

    photo = models.ForeignKey(ArrivingPhoto, models.CASCADE, related_name="pieces")
    starts_at_byte = models.PositiveIntegerField()
    data = models.BinaryField()

    class Meta:
        ordering = ["starts_at_byte"]
        constraints = [models.UniqueConstraint(fields=["photo", "starts_at_byte"], name="piece_is_kept_once")]

    def __str__(self) -> str:
        return f"{self.photo_id} from byte {self.starts_at_byte}"

"""What the release desk asks about a record, and what its inspector answers. Nothing of it goes into a report."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from engine.vocabulary import Link
from inspections.findings.models import Finding
from inspections.photos.models import Photo
from inspections.survey.models import Part
from inspections.survey.pages import address_of
from inspections.survey.wording import BY_LINK, KIND_WORDS, fact_label
from inspections.visits.models import Visit


class Comment(models.Model):
    """About a finding, a photo, a part or one of its readings; about the whole record where it names none of them."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="comments")
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, related_name="comments")
    photo = models.ForeignKey(Photo, models.PROTECT, null=True, related_name="comments")
    part = models.ForeignKey(Part, models.PROTECT, null=True, related_name="comments")
    fact = models.CharField(max_length=40, blank=True, help_text="Of the part, where it is about one reading.")
    text = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(finding=None, photo=None) | Q(finding=None, part=None) | Q(photo=None, part=None),
                name="comment_is_about_one_thing",
            ),
            models.CheckConstraint(condition=Q(fact="") | Q(part__isnull=False), name="comment_on_fact_names_its_part"),
        ]

    def __str__(self) -> str:
        return f"{self.where}: {self.text}"

    @property
    def is_open(self) -> bool:
        return self.done_at is None

    @property
    def where(self) -> str:
        """What it is about, in words."""
        if self.part:
            piece = f"{KIND_WORDS[self.part.kind][0].capitalize()} {self.part.key}"
            piece += f" ({self.part.name})" if self.part.name else ""
            return f"{piece}, {fact_label(self.part.kind, self.fact_of_part).lower()}" if self.fact else piece
        if self.photo:
            return f"Photo, {self.photo.caption}" if self.photo.caption else "Photo, not described"
        return f"Finding, {self.finding.title}" if self.finding else "The whole record"

    @property
    def fact_of_part(self):
        return self.part.vocabulary.index[self.fact]

    @property
    def about_finding_id(self) -> uuid.UUID | None:
        """The finding at which it is shown: its own, or that of its photo."""
        return self.photo.finding_id if self.photo else self.finding_id

    @property
    def is_taken_out(self) -> bool:
        """Whether what it is about was taken out of the record since."""
        thing = self.finding or self.photo or self.part
        return thing is not None and thing.removed_at is not None

    @property
    def address(self) -> str:
        """Where the inspector puts it right."""
        if self.is_taken_out or not (self.finding or self.photo or self.part):
            return reverse("walk", args=[self.visit_id])
        if self.part:
            here = address_of(self.visit, self.part)
            return here.split("#")[0] + f"#fact-{self.part.key}-{self.fact}" if self.fact else here
        about = self.finding or self.photo.finding
        link = about.link if about else self.photo.link
        if not link:
            return reverse("finding-list", args=[self.visit_id]) + f"#photo-{self.photo.pk}"
        here = reverse("walk-link", args=[self.visit_id, BY_LINK[Link(link)].slug])
        return here + (f"#finding-{about.pk}" if about else f"#photo-{self.photo.pk}")


class Answer(models.Model):
    """What somebody wrote under a comment."""

    comment = models.ForeignKey(Comment, models.CASCADE, related_name="answers")
    text = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.text

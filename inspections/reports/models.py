import hashlib
import secrets

from django.conf import settings
from django.db import models
from django.utils import timezone

from firm.jobs.models import Job
from inspections.visits.models import Visit


class IssuedIsFinal(Exception):
    """What was issued never changes: a correction is a new version."""


class Report(models.Model):
    """One issued version of a visit's report: the frozen snapshot, and the PDF drawn from it."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="reports")
    version = models.PositiveSmallIntegerField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="superseded_by")
    what_changed = models.TextField(blank=True)
    snapshot = models.JSONField()
    snapshot_sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    pdf = models.FileField(upload_to="reports/", max_length=200, blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    page_count = models.PositiveSmallIntegerField(null=True)

    # Drawn once, after issuing; everything else is fixed from the first save.
    DRAWN_LATER = frozenset({"pdf", "pdf_sha256", "page_count"})

    class Meta:
        ordering = ["visit", "version"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "version"], name="report_version_is_unique_in_its_visit")
        ]

    def __str__(self) -> str:
        return f"Report {self.number}"

    def save(self, *args, **kwargs) -> None:
        if self.pk is not None:
            fields = set(kwargs.get("update_fields") or ())
            if not fields or not fields <= self.DRAWN_LATER:
                raise IssuedIsFinal("An issued report cannot be changed; issue a new version.")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise IssuedIsFinal("An issued report cannot be deleted.")

    @property
    def number(self) -> str:
        """As printed: the visit's number and the version, "1042-2"."""
        return f"{1000 + self.visit_id}-{self.version}"


class ReportBuild(Job):
    """Draws the PDF of one report."""

    task_name = "inspections.reports.draw_report"

    report = models.OneToOneField(Report, models.PROTECT, related_name="build")


class ReportLinkQuerySet(models.QuerySet):
    def for_token(self, token: str) -> "ReportLink | None":
        """The open link with this token, or None: wrong, expired and revoked look the same."""
        return self.open().filter(token_hash=hash_token(token)).select_related("visit").first()

    def open(self) -> "ReportLinkQuerySet":
        return self.filter(revoked_at__isnull=True, expires_at__gt=timezone.now())


class ReportLink(models.Model):
    """A recipient's way to a report without an account. The token is shown once; only its hash is kept."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="links")
    # Null until the mail is written or the link is shown, and then only the hash.
    token_hash = models.CharField(max_length=64, unique=True, null=True)  # noqa: DJ001 (unique)
    recipient = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = ReportLinkQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"link for {self.recipient}"

    @property
    def is_open(self) -> bool:
        return self.revoked_at is None and self.expires_at > timezone.now()


class LinkOpening(models.Model):
    """One opening of a link: when, and what was taken."""

    class What(models.TextChoices):
        PAGE = "page", "Read the page"
        PDF = "pdf", "Took the PDF"

    link = models.ForeignKey(ReportLink, models.CASCADE, related_name="openings")
    what = models.CharField(max_length=8, choices=What)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.get_what_display()} {self.at:%Y-%m-%d %H:%M}"


class ReportMail(Job):
    """Sends one link to its recipient. The token is made as the mail is written, so that no row ever holds it.

    A worker killed between the mail server's "accepted" and our note of it sends a second mail, whose link then
    replaces the first one's.
    """

    task_name = "inspections.reports.send_link"

    link = models.ForeignKey(ReportLink, models.CASCADE, related_name="mails")
    sent_at = models.DateTimeField(null=True, blank=True)


def new_token() -> str:
    """256 random bits, as text for an address."""
    return secrets.token_urlsafe(32)


def hash_token(token: str) -> str:
    """SHA-256 of the token; enough for 256 random bits, which cannot be guessed or listed."""
    return hashlib.sha256(token.encode()).hexdigest()

import hashlib
import secrets

from django.conf import settings
from django.db import models
from django.utils import timezone

from firm.jobs.lines import LONG
from firm.jobs.models import Job
from inspections.visits.models import Visit


class IssuedIsFinal(Exception):
    """What was issued never changes: a correction is a new version."""


class ReportQuerySet(models.QuerySet):
    """Issued reports. A whole set of them is changed as little as a single one; the database refuses it too."""

    def update(self, **fields) -> int:
        if not fields.keys() <= Report.DRAWN_LATER:
            raise IssuedIsFinal("An issued report cannot be changed; issue a new version.")
        return super().update(**fields)

    def delete(self):
        raise IssuedIsFinal("An issued report cannot be deleted.")


class Report(models.Model):
    """One issued version of a visit's report: the frozen snapshot, and the PDF drawn from it."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="reports")
    version = models.PositiveSmallIntegerField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="superseded_by")
    what_changed = models.TextField(blank=True)
    # What differs from the version before, computed from both records: see `inspections.reports.changes`.
    changes = models.JSONField(default=list)
    snapshot = models.JSONField()
    snapshot_sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    kept_until = models.DateField(null=True)  # by the firm's period on the day of issuing
    pdf = models.FileField(upload_to="reports/", max_length=200, blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    page_count = models.PositiveSmallIntegerField(null=True)

    # Drawn once, after issuing; everything else is fixed from the first save.
    DRAWN_LATER = frozenset({"pdf", "pdf_sha256", "page_count"})

    objects = ReportQuerySet.as_manager()

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
    line = LONG

    report = models.OneToOneField(Report, models.PROTECT, related_name="build")


class Kind(models.TextChoices):
    """How much of a report somebody is given."""

    FULL = "full", "The whole report"
    SCHEDULE = "schedule", "Repair schedule only"
    ENGINEER = "engineer", "The whole report with every calculation"


class ReportExtract(Job):
    """Draws another cut of an issued report, once somebody is given it."""

    task_name = "inspections.reports.draw_extract"
    line = LONG

    report = models.ForeignKey(Report, models.PROTECT, related_name="extracts")
    kind = models.CharField(max_length=10, choices=Kind)
    pdf = models.FileField(upload_to="reports/", max_length=200, blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)

    class Meta(Job.Meta):
        constraints = [
            *Job.Meta.constraints,
            models.UniqueConstraint(fields=["report", "kind"], name="report_has_one_extract_of_a_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.report}"


class Language(models.TextChoices):
    ENGLISH = "en", "English"
    SPANISH = "es", "Español"


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
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.FULL)
    language = models.CharField(max_length=2, choices=Language, default=Language.ENGLISH)  # the reader may change it
    code_hash = models.CharField(max_length=128, blank=True)  # of the access code; empty: none is asked for
    code_tries = models.PositiveSmallIntegerField(default=0)  # wrong ones since the last right one or pause
    code_shut_until = models.DateTimeField(null=True, blank=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    # The report whose PDF carries this link as a code on its first page, for whoever holds the paper.
    printed_in = models.OneToOneField(Report, models.PROTECT, null=True, blank=True, related_name="printed_link")

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
        WRONG_CODE = "code", "Typed a wrong code"

    link = models.ForeignKey(ReportLink, models.CASCADE, related_name="openings")
    what = models.CharField(max_length=8, choices=What)
    version = models.PositiveSmallIntegerField(null=True)  # of the report that was opened
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.get_what_display()} {self.at:%Y-%m-%d %H:%M}"


class ActionTick(models.Model):
    """An owner's own note that a thing to do is done. Each is set by itself, so two phones overwrite nothing."""

    link = models.ForeignKey(ReportLink, models.CASCADE, related_name="ticks")
    finding = models.UUIDField()  # of the frozen record
    is_done = models.BooleanField()
    at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["link", "finding"], name="tick_is_one_for_a_finding")]

    def __str__(self) -> str:
        return f"{'done' if self.is_done else 'not done'}: {self.finding}"


class ReportMail(Job):
    """Sends one link to its recipient. The token is made as the mail is written, so that no row ever holds it.

    A worker killed between the mail server's "accepted" and our note of it sends a second mail, whose link then
    replaces the first one's.
    """

    task_name = "inspections.reports.send_link"

    link = models.ForeignKey(ReportLink, models.CASCADE, related_name="mails")
    sent_at = models.DateTimeField(null=True, blank=True)
    came_back_at = models.DateTimeField(null=True, blank=True)  # the office found it undelivered in its own mailbox

    @property
    def has_failed(self) -> bool:
        return self.state == self.State.FAILED or self.came_back_at is not None


def new_token() -> str:
    """256 random bits, as text for an address."""
    return secrets.token_urlsafe(32)


def hash_token(token: str) -> str:
    """SHA-256 of the token; enough for 256 random bits, which cannot be guessed or listed."""
    return hashlib.sha256(token.encode()).hexdigest()

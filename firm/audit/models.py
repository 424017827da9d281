from typing import Any

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connections, models, router, transaction
from django.utils import timezone

from firm.audit import chain


class Unalterable(Exception):
    """An audit line was to be changed or removed."""


class AuditEntries(models.QuerySet):
    def update(self, **_: Any) -> int:
        raise Unalterable("the audit trail is only ever added to")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise Unalterable("the audit trail is only ever added to")

    def bulk_update(self, *_: Any, **__: Any) -> int:
        raise Unalterable("the audit trail is only ever added to")

    def bulk_create(self, *_: Any, **__: Any) -> list["AuditEntry"]:
        raise Unalterable("lines of the audit trail are written one after the other, each following the one before")

    def verify(self) -> chain.Verdict:
        """Whether the whole trail is as it was written; names the first line that does not fit."""
        along = self.order_by(models.F("position").asc(nulls_last=True), "pk")
        return chain.verify(along.iterator(chunk_size=2000))

    def about(self, subject: models.Model) -> "AuditEntries":
        return self.filter(subject_type=subject._meta.label_lower, subject_id=str(subject.pk))


class AuditEntry(models.Model):
    """One thing that one person did to one record. The label is kept as it read then, for records that are renamed.

    `position`, `content_sha256` and `sha256` chain the lines: see `firm.audit.chain`. The database refuses to change or
    remove a line: see `firm.audit.triggers`.
    """

    at = models.DateTimeField(default=timezone.now, editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    verb = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=80)  # "visits.visit"
    subject_id = models.CharField(max_length=40)
    subject_label = models.CharField(max_length=200)
    before = models.JSONField(null=True, encoder=DjangoJSONEncoder)
    after = models.JSONField(null=True, encoder=DjangoJSONEncoder)

    # Null only on PostgreSQL and only until the transaction that writes the line commits.
    position = models.PositiveBigIntegerField(null=True, unique=True, editable=False)
    content_sha256 = models.CharField(max_length=64, editable=False)
    sha256 = models.CharField(max_length=64, blank=True, editable=False)

    objects = AuditEntries.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["subject_type", "subject_id", "at"], name="audit_by_subject"),
            models.Index(fields=["-at", "-id"], name="audit_newest_first"),
        ]
        verbose_name_plural = "audit entries"

    def __str__(self) -> str:
        return f"{self.by or 'Soundings'} {self.verb} {self.subject_label}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise Unalterable("an audit line is never changed")
        self.content_sha256 = chain.content_digest(self)
        using = kwargs.get("using") or router.db_for_write(type(self))
        with transaction.atomic(using=using):
            if connections[using].vendor == "sqlite":
                # The transaction is IMMEDIATE: nobody else can write before it ends, so the last line stays the last.
                last = type(self)._base_manager.using(using).order_by("-position").values("position", "sha256").first()
                self.position = last["position"] + 1 if last else 1
                self.sha256 = chain.link_digest(last["sha256"] if last else chain.START, self.content_sha256)
            super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise Unalterable("an audit line is never removed")

    @classmethod
    def write(
        cls,
        by: Any,
        verb: str,
        subject: models.Model,
        before: dict[str, Any] | None = None,
        after: dict[str, Any] | None = None,
    ) -> "AuditEntry":
        if subject.pk is None:
            raise ValueError("the record must be saved before its audit line")
        if not verb:
            raise ValueError("an audit line says what was done")
        return cls.objects.create(
            by=by,
            verb=verb,
            subject_type=subject._meta.label_lower,
            subject_id=str(subject.pk),
            subject_label=str(subject)[:200],
            before=before,
            after=after,
        )

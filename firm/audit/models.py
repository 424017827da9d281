from typing import Any

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models


class Unalterable(Exception):
    """An audit line was to be changed or removed."""


class AuditEntries(models.QuerySet):
    def update(self, **_: Any) -> int:
        raise Unalterable("the audit trail is only ever added to")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise Unalterable("the audit trail is only ever added to")

    def bulk_update(self, *_: Any, **__: Any) -> int:
        raise Unalterable("the audit trail is only ever added to")

    def about(self, subject: models.Model) -> "AuditEntries":
        return self.filter(subject_type=subject._meta.label_lower, subject_id=str(subject.pk))


class AuditEntry(models.Model):
    """One thing that one person did to one record. The label is kept as it read then, for records that are renamed."""

    at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    verb = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=80)  # "visits.visit"
    subject_id = models.CharField(max_length=40)
    subject_label = models.CharField(max_length=200)
    before = models.JSONField(null=True, encoder=DjangoJSONEncoder)
    after = models.JSONField(null=True, encoder=DjangoJSONEncoder)

    objects = AuditEntries.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["subject_type", "subject_id", "at"], name="audit_by_subject")]
        verbose_name_plural = "audit entries"

    def __str__(self) -> str:
        return f"{self.by or 'Soundings'} {self.verb} {self.subject_label}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise Unalterable("an audit line is never changed")
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

"""Looking through the audit trail: which lines, by whom, about what, and when."""

import json
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.apps import apps
from django.utils import timezone

from firm.audit.models import AuditEntries, AuditEntry
from firm.people.models import User
from firm.web.forms import LongChoice, NoColon

HEADS = ("position", "at (UTC)", "who", "did", "kind", "number", "record", "before", "after", "sha256")


class TrailForm(NoColon, forms.Form):
    """The filters, as they stand in the address."""

    by = LongChoice(User.objects.all(), required=False, label="Who", empty_label="Anybody")
    kind = forms.ChoiceField(required=False, label="What kind of record")
    number = forms.CharField(required=False, label="Its number", max_length=40)
    words = forms.CharField(required=False, label="Words in it", max_length=100)
    since = forms.DateField(required=False, label="From", widget=forms.DateInput(attrs={"type": "date"}))
    until = forms.DateField(required=False, label="To", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = AuditEntry.objects.order_by().values_list("subject_type", flat=True).distinct()
        named = sorted((kind_words(kind), kind) for kind in kinds)
        self.fields["kind"].choices = [("", "Any"), *((kind, words) for words, kind in named)]

    def lines(self) -> AuditEntries:
        """The lines that fit, newest first; none while the filters cannot be read."""
        if not self.is_valid():
            return AuditEntry.objects.none()
        wanted, found = self.cleaned_data, AuditEntry.objects.select_related("by")
        if wanted["by"]:
            found = found.filter(by=wanted["by"])
        if wanted["kind"]:
            found = found.filter(subject_type=wanted["kind"])
        if wanted["number"]:
            found = found.filter(subject_id=wanted["number"].strip())
        for word in wanted["words"].split():
            found = found.filter(subject_label__icontains=word) | found.filter(verb__icontains=word)
        if wanted["since"]:
            found = found.filter(at__gte=_begins(wanted["since"]))
        if wanted["until"]:
            found = found.filter(at__lt=_begins(wanted["until"] + timedelta(days=1)))
        return found


def kind_words(kind: str) -> str:
    """`visits.visit` reads "Visit"; a kind that this version no longer has reads as it was written."""
    try:
        return apps.get_model(kind)._meta.verbose_name.capitalize()
    except (LookupError, ValueError):
        return kind


def rows(lines: AuditEntries) -> Iterator[tuple[Any, ...]]:
    """The lines for a spreadsheet, below `HEADS`."""
    for line in lines.iterator(chunk_size=2000):
        record = (line.subject_type, line.subject_id, line.subject_label)
        change = (json.dumps(side, ensure_ascii=False) if side else "" for side in (line.before, line.after))
        yield line.position, line.at.isoformat(), str(line.by or "Soundings"), line.verb, *record, *change, line.sha256


def _begins(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))

from datetime import date

import pytest
from django.db import transaction

from firm import audit
from firm.audit.models import AuditEntry, Unalterable
from firm.people.models import User


def test_a_line_says_who_did_what_to_which_record(manager, inspector):
    entry = audit.record(manager, "released", inspector, before={"state": "draft"}, after={"state": "released"})
    entry.refresh_from_db()
    assert (entry.by, entry.verb, entry.subject_type, entry.subject_id) == (
        manager,
        "released",
        "people.user",
        str(inspector.pk),
    )
    assert (entry.before, entry.after) == ({"state": "draft"}, {"state": "released"})


def test_the_label_stays_as_it_read_then(manager, inspector):
    audit.record(manager, "changed", inspector)
    inspector.first_name = "Renamed"
    inspector.save()
    assert AuditEntry.objects.about(inspector).get().subject_label == "inspector"


def test_dates_and_the_like_can_be_noted(manager, inspector):
    entry = audit.record(manager, "booked", inspector, after={"day": date(2026, 4, 7)})
    entry.refresh_from_db()
    assert entry.after == {"day": "2026-04-07"}


def test_what_the_application_does_by_itself_has_no_person(inspector):
    assert str(audit.record(None, "reminded", inspector)) == "Soundings reminded inspector"


@pytest.mark.parametrize(
    "tamper",
    [
        lambda entry: entry.save(),
        lambda entry: entry.delete(),
        lambda entry: AuditEntry.objects.update(verb="never happened"),
        lambda entry: AuditEntry.objects.filter(pk=entry.pk).delete(),
        lambda entry: AuditEntry.objects.bulk_update([entry], ["verb"]),
    ],
)
def test_a_line_cannot_be_changed_or_removed(tamper, manager, inspector):
    entry = audit.record(manager, "released", inspector)
    entry.verb = "never happened"
    with pytest.raises(Unalterable):
        tamper(entry)
    assert AuditEntry.objects.get().verb == "released"


def test_a_change_that_is_rolled_back_leaves_no_line(manager, inspector):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        audit.record(manager, "released", inspector)
        1 / 0  # noqa: B018
    assert not AuditEntry.objects.exists()


def test_an_unsaved_record_and_an_empty_verb_are_refused(manager, inspector):
    with pytest.raises(ValueError):
        audit.record(manager, "added", User())
    with pytest.raises(ValueError):
        audit.record(manager, "", inspector)

"""Recording and taking back a finding."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from firm.audit.models import AuditEntry
from inspections.findings.models import Action, Defect, Finding
from inspections.findings.services import HowSoonIsMissing, open_findings, record_finding, remove_finding
from inspections.visits.refusals import NotYours, Refused, WrongState
from tests.make import make_visit

pytestmark = pytest.mark.django_db


def a_finding(visit, **fields):
    return Finding(visit=visit, **{"link": "beam", "title": "Split", "action": "find_out", **fields})


def test_a_finding_is_kept_with_who_and_a_line_in_the_audit(visit, inspector):
    finding = record_finding(a_finding(visit, place="left end"), by=inspector)
    finding.refresh_from_db()
    assert finding.by == inspector
    line = AuditEntry.objects.about(finding).get()
    assert (line.verb, line.after["title"], line.after["place"]) == ("recorded", "Split", "left end")


def test_the_id_may_be_made_by_the_tablet_and_a_repeat_changes_nothing(visit, inspector):
    made = uuid4()
    for _ in range(2):
        record_finding(a_finding(visit, id=made), by=inspector)
    assert Finding.objects.get().pk == made
    assert AuditEntry.objects.filter(subject_id=str(made)).count() == 1


def test_a_change_is_audited_with_what_it_was(visit, inspector):
    finding = record_finding(a_finding(visit), by=inspector)
    finding.title = "Split, 2 ft long"
    record_finding(finding, by=inspector)
    line = AuditEntry.objects.about(finding).first()
    assert (line.verb, line.before, line.after) == ("changed", {"title": "Split"}, {"title": "Split, 2 ft long"})


def test_the_first_finding_begins_a_booked_visit(inspector):
    visit = make_visit(inspector)
    record_finding(a_finding(visit), by=inspector)
    visit.refresh_from_db()
    assert visit.state == "under_way"
    assert visit.begun_at


@pytest.mark.parametrize("action", ["keep_off", "put_right"])
def test_a_repair_without_a_time_is_refused_and_the_database_agrees(visit, inspector, action):
    with pytest.raises(HowSoonIsMissing):
        record_finding(a_finding(visit, action=action), by=inspector)
    with pytest.raises(IntegrityError), transaction.atomic():
        a_finding(visit, action=action, by=inspector).save()
    record_finding(a_finding(visit, action=action, how_soon="at_once"), by=inspector)


def test_a_refused_finding_does_not_begin_the_visit(inspector):
    visit = make_visit(inspector)
    with pytest.raises(HowSoonIsMissing):
        record_finding(a_finding(visit, action="keep_off"), by=inspector)
    visit.refresh_from_db()
    assert visit.state == "booked"


def test_what_is_left_empty_comes_from_the_catalogue_and_what_was_written_stays(visit, inspector):
    defect = Defect.objects.get(slug="guard-too-low")
    finding = record_finding(a_finding(visit, defect=defect, title="", link="", remedy="Longer posts."), by=inspector)
    assert (finding.title, finding.link, finding.meaning) == (defect.title, "edge", defect.meaning)
    assert finding.remedy == "Longer posts."
    assert finding.action == "find_out"


@pytest.mark.parametrize("state", ["handed_in", "released"])
def test_a_closed_record_is_not_written(inspector, state):
    visit = make_visit(inspector, state=state)
    finding = Finding.objects.create(visit=visit, link="beam", title="Split", action="find_out", by=inspector)
    with pytest.raises(WrongState):
        record_finding(a_finding(visit), by=inspector)
    with pytest.raises(WrongState):
        remove_finding(finding, by=inspector)
    assert Finding.objects.get().removed_at is None


def test_only_the_visits_own_inspector_writes(visit, make_person):
    with pytest.raises(NotYours):
        record_finding(a_finding(visit), by=make_person("inspector", "manager", username="other"))


def test_taking_out_keeps_the_row_and_is_said_once(visit, inspector):
    finding = record_finding(a_finding(visit), by=inspector)
    remove_finding(finding, by=inspector)
    remove_finding(finding, by=inspector)
    assert list(open_findings(visit)) == []
    assert Finding.objects.get(pk=finding.pk).removed_at
    assert [line.verb for line in AuditEntry.objects.about(finding)] == ["removed", "recorded"]


def test_the_most_pressing_stands_first_and_the_soonest_within_a_word(visit, inspector):
    rows = [
        ("sound", "no_date"), ("put_right", "one_year"), ("look_after", "no_date"), ("find_out", "no_date"),
        ("put_right", "at_once"), ("limit_use", "no_date"), ("put_right", "two_weeks"), ("keep_off", "at_once"),
    ]  # fmt: skip
    for action, how_soon in rows:
        record_finding(a_finding(visit, action=action, how_soon=how_soon), by=inspector)
    assert [(finding.action, finding.how_soon) for finding in open_findings(visit)] == [
        ("keep_off", "at_once"),
        ("limit_use", "no_date"),
        ("put_right", "at_once"),
        ("put_right", "two_weeks"),
        ("put_right", "one_year"),
        ("find_out", "no_date"),
        ("look_after", "no_date"),
        ("sound", "no_date"),
    ]
    assert [action.value for action in Action] == [
        "keep_off", "limit_use", "put_right", "find_out", "look_after", "sound",
    ]  # fmt: skip


def test_findings_of_another_visit_are_not_among_them(visit, inspector):
    record_finding(a_finding(make_visit(inspector, state="under_way")), by=inspector)
    assert not open_findings(visit).exists()


def test_a_second_sending_with_a_change_changes_the_one_row(visit, inspector):
    made = uuid4()
    record_finding(a_finding(visit, id=made), by=inspector)
    record_finding(a_finding(visit, id=made, title="Split, 2 ft long"), by=inspector)
    assert Finding.objects.get().title == "Split, 2 ft long"


def test_an_id_of_another_visit_is_refused(visit, inspector):
    taken = record_finding(a_finding(make_visit(inspector, state="under_way")), by=inspector)
    with pytest.raises(Refused, match="belongs to another visit"):
        record_finding(a_finding(visit, id=taken.pk), by=inspector)

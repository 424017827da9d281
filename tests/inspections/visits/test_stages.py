import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from firm.audit.models import AuditEntry
from inspections.survey.services import add_part
from inspections.visits.models import Visit
from inspections.visits.services import NotReady, NotYours, ReasonMissing, WrongState, begin, hand_in, send_back
from tests.make import make_visit


def recorded(inspector, **fields):
    """A visit with a ledger of ten feet, as one would measure it."""
    visit = make_visit(inspector, **{**fields, "state": "under_way"})
    add_part(visit, "ledger", by=inspector, readings={"length_in": "10'", "size": "2x10"})
    Visit.objects.filter(pk=visit.pk).update(state=fields.get("state", "booked"))
    visit.refresh_from_db()
    return visit


def test_the_inspector_begins_and_the_audit_says_so(inspector):
    visit = make_visit(inspector)
    begin(visit, by=inspector)
    assert (visit.state, visit.begun_at is None) == ("under_way", False)
    visit.refresh_from_db()
    assert visit.state == "under_way"
    assert AuditEntry.objects.about(visit).get().verb == "began"


@pytest.mark.parametrize("state", ["under_way", "sent_back"])
def test_beginning_again_changes_nothing(state, inspector):
    visit = make_visit(inspector, state=state)
    begin(visit, by=inspector)
    visit.refresh_from_db()
    assert visit.state == state
    assert not AuditEntry.objects.about(visit).exists()


@pytest.mark.parametrize("state", ["handed_in", "released", "called_off"])
def test_a_closed_visit_does_not_begin_again(state, inspector):
    with pytest.raises(WrongState):
        begin(make_visit(inspector, state=state, called_off_because="Sold."), by=inspector)


def test_another_inspector_neither_begins_nor_hands_in(inspector, make_person):
    other = make_person("inspector", username="robin")
    with pytest.raises(NotYours):
        begin(make_visit(inspector), by=other)
    with pytest.raises(NotYours):
        hand_in(recorded(inspector, state="under_way"), by=other)


def test_handing_in_closes_the_record(inspector):
    visit = hand_in(recorded(inspector, state="under_way"), by=inspector, summary="Fit for use.")
    visit.refresh_from_db()
    assert (visit.state, visit.summary, visit.is_open_for_record) == ("handed_in", "Fit for use.", False)
    assert visit.handed_in_at is not None


def test_a_visit_that_has_not_begun_is_not_handed_in(inspector):
    with pytest.raises(WrongState, match="not begun"):
        hand_in(recorded(inspector), by=inspector)


@pytest.mark.parametrize("state", ["handed_in", "released", "called_off"])
def test_a_closed_visit_is_not_handed_in_again(state, inspector):
    with pytest.raises(WrongState):
        hand_in(recorded(inspector, state=state, called_off_because="Sold."), by=inspector)


def test_an_empty_record_is_not_ready(inspector):
    with pytest.raises(NotReady) as refusal:
        hand_in(make_visit(inspector, state="under_way"), by=inspector)
    assert [gap.words for gap in refusal.value.gaps] == ["No part of the deck is recorded yet. Record at least one."]


def test_a_part_that_was_removed_does_not_count(inspector):
    from django.utils import timezone

    visit = make_visit(inspector, state="under_way")
    visit.parts.create(kind="beam", key="B1", removed_at=timezone.now())
    with pytest.raises(NotReady):
        hand_in(visit, by=inspector)


def test_a_record_that_contradicts_itself_is_not_ready_and_says_where(inspector):
    visit = recorded(inspector, state="under_way")
    add_part(visit, "fastener", by=inspector, readings={"ledger": "LD1", "position_in": "14'"})
    with pytest.raises(NotReady) as refusal:
        hand_in(visit, by=inspector)
    (gap,) = refusal.value.gaps
    assert "F1" in gap.words
    assert gap.url.startswith(reverse("walk-link", args=[visit.pk, "ledger"]))
    visit.refresh_from_db()
    assert visit.state == "under_way"


def test_a_pressing_finding_without_a_date_cannot_even_be_stored(inspector):
    visit = recorded(inspector, state="under_way")
    with pytest.raises(IntegrityError), transaction.atomic():
        visit.findings.create(action="keep_off", link="beam", title="Beam split", how_soon="no_date", by=inspector)


def test_sending_back_opens_the_record_with_the_reason_and_it_can_be_handed_in_again(inspector, manager):
    visit = recorded(inspector, state="handed_in")
    with pytest.raises(ReasonMissing):
        send_back(visit, because=" ", by=manager)
    visit = send_back(visit, because="The stair has no riser heights.", by=manager)
    assert (visit.state, visit.sent_back_because) == ("sent_back", "The stair has no riser heights.")
    assert visit.is_open_for_record
    assert hand_in(visit, by=inspector).state == "handed_in"
    verbs = [line.verb for line in AuditEntry.objects.about(visit)]
    assert verbs[:2] == ["handed in", "sent back"]


@pytest.mark.parametrize("state", ["booked", "under_way", "sent_back", "released", "called_off"])
def test_only_what_is_handed_in_can_be_sent_back(state, inspector, manager):
    with pytest.raises(WrongState):
        send_back(make_visit(inspector, state=state, called_off_because="x"), because="Look again.", by=manager)

"""Recording: what is kept, with its story; what is refused, with words; who may write, and when."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from firm.audit.models import AuditEntry
from inspections.survey.services import (
    Changed,
    NotYours,
    RecordClosed,
    Unreadable,
    add_part,
    clear_reading,
    copy_readings,
    name_part,
    record_reading,
    remove_part,
    version_of,
)
from inspections.visits.models import Visit
from tests.make import make_inspector, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit():
    return make_visit()


@pytest.fixture
def joists(visit):
    return add_part(visit, "joist_field", by=visit.inspector)


def test_a_reading_keeps_its_value_and_its_story(joists, visit):
    before = timezone.now()
    reading = record_reading(joists, "span_in", "8' 8\"", how="papers", by=visit.inspector)
    reading.refresh_from_db()
    assert (reading.value, reading.typed, reading.how) == (104.0, "8' 8\"", "papers")
    assert reading.by == visit.inspector
    assert before <= reading.at <= timezone.now()


def test_the_last_reading_of_a_fact_is_the_one_that_stands(joists, visit):
    record_reading(joists, "span_in", "104", by=visit.inspector)
    record_reading(joists, "span_in", "105", by=visit.inspector)
    assert [reading.value for reading in joists.readings.all()] == [105.0]


def test_what_stood_before_is_in_the_audit_trail(joists, visit):
    record_reading(joists, "span_in", "104", by=visit.inspector)
    record_reading(joists, "span_in", "105", by=visit.inspector)
    line = AuditEntry.objects.about(joists).first()
    assert (line.before["span_in"], line.after["span_in"], line.by) == (104.0, 105.0, visit.inspector)


def test_not_reachable_needs_no_value_and_keeps_none(joists, visit):
    reading = record_reading(joists, "span_in", "104", how="not_reachable", by=visit.inspector)
    reading.refresh_from_db()
    assert (reading.value, reading.typed) == (None, "")


def test_a_refused_reading_leaves_the_one_that_stood(joists, visit):
    record_reading(joists, "span_in", "104", by=visit.inspector)
    with pytest.raises(Unreadable):
        record_reading(joists, "span_in", "104 bananas", by=visit.inspector)
    assert joists.readings.get().value == 104.0


def test_a_fact_that_such_a_part_does_not_have_is_refused(joists, visit):
    with pytest.raises(Unreadable):
        record_reading(joists, "plies", "3", by=visit.inspector)


def test_a_time_from_a_fast_clock_is_taken_as_now(joists, visit):
    reading = record_reading(joists, "span_in", "104", by=visit.inspector, at=timezone.now() + timedelta(days=1))
    assert reading.at <= timezone.now()


def test_the_time_of_an_entry_made_without_signal_is_kept(joists, visit):
    an_hour_ago = timezone.now() - timedelta(hours=1)
    assert record_reading(joists, "span_in", "104", by=visit.inspector, at=an_hour_ago).at == an_hour_ago


def test_the_first_reading_begins_the_visit(visit):
    assert visit.state == Visit.State.BOOKED
    add_part(visit, "ledger", by=visit.inspector)
    visit.refresh_from_db()
    assert visit.state == Visit.State.UNDER_WAY


@pytest.mark.parametrize("state", ["handed_in", "released", "called_off"])
def test_a_closed_record_takes_nothing_more(state, joists, visit):
    Visit.objects.filter(pk=visit.pk).update(state=state, called_off_because="rain")
    for write in (
        lambda: record_reading(joists, "span_in", "104", by=visit.inspector),
        lambda: clear_reading(joists, "span_in", by=visit.inspector),
        lambda: add_part(visit, "beam", by=visit.inspector),
        lambda: remove_part(joists, by=visit.inspector),
        lambda: name_part(joists, "north bay", by=visit.inspector),
    ):
        with pytest.raises(RecordClosed):
            write()


def test_another_inspector_cannot_write_the_record(joists):
    with pytest.raises(NotYours):
        record_reading(joists, "span_in", "104", by=make_inspector())
    assert not joists.readings.exists()


def test_keys_count_on_and_are_never_given_twice(visit):
    first, second = (add_part(visit, "beam", by=visit.inspector) for _ in range(2))
    remove_part(second, by=visit.inspector)
    third = add_part(visit, "beam", by=visit.inspector)
    assert [first.key, second.key, third.key] == ["B1", "B2", "B3"]


def test_the_same_part_sent_twice_by_the_tablet_is_one(visit):
    made_by_tablet = uuid4()
    parts = [add_part(visit, "beam", by=visit.inspector, part_id=made_by_tablet) for _ in range(2)]
    assert parts[0] == parts[1]
    assert visit.parts.count() == 1


def test_the_id_of_another_visits_part_is_refused(visit):
    other = make_visit()
    part = add_part(other, "beam", by=other.inspector)
    with pytest.raises(Unreadable):
        add_part(visit, "beam", by=visit.inspector, part_id=part.pk)


def test_a_part_that_can_only_belong_to_one_other_is_put_there(visit):
    add_part(visit, "level", by=visit.inspector, readings={"stands": "on a ledger"})
    add_part(visit, "beam", by=visit.inspector)
    post = add_part(visit, "post", by=visit.inspector)
    footing = add_part(visit, "footing", by=visit.inspector)
    assert post.readings.get(fact="beam").value == "B1"
    assert footing.readings.get(fact="post").value == "P1"
    assert visit.parts.get(key="B1").readings.get(fact="level").value == "L1"


def test_with_two_beams_the_post_is_not_put_under_either(visit):
    for _ in range(2):
        add_part(visit, "beam", by=visit.inspector)
    assert not add_part(visit, "post", by=visit.inspector).readings.exists()


def test_a_part_with_a_bad_first_reading_is_not_added(visit):
    with pytest.raises(Unreadable):
        add_part(visit, "beam", by=visit.inspector, readings={"plies": "three"})
    assert not visit.parts.exists()


def test_with_a_beam_go_its_posts_and_their_footings(visit):
    for kind in ("beam", "post", "footing", "joist_field"):
        add_part(visit, kind, by=visit.inspector)
    joists = visit.parts.get(key="J1")
    record_reading(joists, "beam", "B1", by=visit.inspector)
    gone = remove_part(visit.parts.get(key="B1"), by=visit.inspector)
    assert {part.key for part in gone} == {"B1", "P1", "FT1"}
    assert [part.key for part in visit.parts.filter(removed_at__isnull=True)] == ["J1"]
    assert not joists.readings.filter(fact="beam").exists()


def test_a_cleared_reading_is_as_if_never_written(joists, visit):
    record_reading(joists, "span_in", "104", by=visit.inspector)
    clear_reading(joists, "span_in", by=visit.inspector)
    assert not joists.readings.exists()


def test_the_same_as_before_copies_value_and_story_but_not_the_place(visit):
    add_part(visit, "beam", by=visit.inspector)
    first, second = (add_part(visit, "post", by=visit.inspector) for _ in range(2))
    record_reading(first, "size", "6x6", how="papers", by=visit.inspector)
    record_reading(first, "position_in", "12", by=visit.inspector)
    record_reading(first, "height_in", "30", by=visit.inspector)
    record_reading(second, "height_in", "33", by=visit.inspector)
    copy_readings(second, first, by=visit.inspector)
    kept = {reading.fact: (reading.value, reading.how) for reading in second.readings.all()}
    assert kept == {"size": ("6x6", "papers"), "height_in": (33.0, "measured"), "beam": ("B1", "measured")}


def test_a_change_made_meanwhile_is_told_with_both_values(joists, visit):
    seen = version_of(record_reading(joists, "span_in", "104", by=visit.inspector))
    record_reading(joists, "span_in", "106", by=visit.inspector)
    with pytest.raises(Changed) as told:
        record_reading(joists, "span_in", "108", by=visit.inspector, seen=seen)
    assert (told.value.reading.value, told.value.typed) == (106.0, "108")
    assert joists.readings.get().value == 106.0


def test_writing_what_the_other_wrote_is_no_quarrel(joists, visit):
    record_reading(joists, "span_in", "106", by=visit.inspector)
    assert record_reading(joists, "span_in", "106", by=visit.inspector, seen="").value == 106.0


def test_the_one_who_saw_the_last_value_may_change_it(joists, visit):
    seen = version_of(record_reading(joists, "span_in", "104", by=visit.inspector))
    assert record_reading(joists, "span_in", "108", by=visit.inspector, seen=seen).value == 108.0


@pytest.mark.parametrize("name", ["x" * 61, "north\x00beam"])
def test_a_name_that_cannot_be_kept_is_refused(name, joists, visit):
    with pytest.raises(Unreadable):
        name_part(joists, name, by=visit.inspector)

"""What was done on a tablet without signal is taken over in order, each once, and never over another's value."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.findings.models import Finding
from inspections.survey.models import Reading
from inspections.survey.services import add_part, name_part, record_reading, remove_part, version_of
from inspections.sync.models import SyncOperation
from tests.inspections.sync.tablet import Tablet, outcomes
from tests.make import make_visit

pytestmark = pytest.mark.django_db


def ledger_and_guard(tablet):
    ledger, guard = tablet.part("ledger", key="LD1"), tablet.part("guard", key="G1", name="front")
    board = ledger["payload"]["part"]
    return [
        ledger,
        tablet.made("record_reading", part=board, fact="length_in", typed="14'", how="measured", seen=""),
        tablet.made(
            "add_fasteners", ledger=board, row="staggered", facts={"fastener": "lag screw", "diameter_in": "1/2"},
            parts=[{"id": str(uuid4()), "position_in": place} for place in (4, 36, 68)],
        ),
        guard,
        tablet.made("record_reading", part=guard["payload"]["part"], fact="height_in", typed="33", seen=""),
    ]  # fmt: skip


def whole_record(visit):
    return {
        (part.kind, part.key, one.fact): (one.value, one.typed, one.how)
        for part in visit.parts.filter(removed_at=None)
        for one in part.readings.all()
    }


def test_a_ledger_and_a_guard_arrive_as_they_were_entered(tablet, visit):
    assert outcomes(tablet.send(*ledger_and_guard(tablet))) == ["applied"] * 5
    record = whole_record(visit)
    assert record["ledger", "LD1", "length_in"] == (168.0, "14'", "measured")
    assert record["guard", "G1", "height_in"] == (33.0, "33", "measured")
    assert [record["fastener", f"F{n}", "position_in"][0] for n in (1, 2, 3)] == [4, 36, 68]
    assert [record["fastener", f"F{n}", "row"][0] for n in (1, 2, 3)] == ["upper", "lower", "upper"]


def test_what_is_sent_again_changes_nothing_and_gets_the_same_answer(tablet, visit):
    sent = ledger_and_guard(tablet)
    first, record = tablet.send(*sent), whole_record(visit)
    assert tablet.send(*sent, *sent) == first + first
    assert whole_record(visit) == record
    assert SyncOperation.objects.count() == 5


def test_what_overtook_its_part_waits_until_the_part_is_there(tablet, visit):
    sent = ledger_and_guard(tablet)
    assert outcomes(tablet.send(*sent[1:3])) == ["later", "later"]
    assert not visit.parts.exists() and not SyncOperation.objects.exists()
    assert outcomes(tablet.send(*sent)) == ["applied"] * 5


def test_an_older_value_that_comes_late_does_not_undo_the_newer_one(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    first = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="33", seen="")
    second = tablet.made("record_reading", first["id"], part=str(guard.pk), fact="height_in", typed="36", seen="")
    assert outcomes(tablet.send(second)) == ["later"]
    assert outcomes(tablet.send(first)) == ["applied"]
    assert outcomes(tablet.send(second)) == ["applied"]
    assert outcomes(tablet.send(first)) == ["applied"]
    assert guard.readings.get().typed == "36"


def test_where_two_tablets_wrote_one_fact_both_values_are_kept(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    mine = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="33", seen="")
    record_reading(guard, "height_in", "36", by=inspector)
    (answer,) = tablet.send(mine)
    assert (answer["outcome"], answer["mine"], answer["theirs"]) == ("conflict", "33", "3'")
    assert guard.readings.get().typed == "36"
    page = tablet.client.get(reverse("sync-problems"))
    assert "33" in page.text and "3&#x27;" in page.text
    tablet.client.post(reverse("sync-settle", args=[mine["id"]]), {"how": "mine"})
    assert guard.readings.get().typed == "33"
    assert "Everything that was sent" in tablet.client.get(reverse("sync-problems")).text


def test_what_stands_can_be_kept_and_the_next_entry_then_follows_it(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    mine = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="33", seen="")
    record_reading(guard, "height_in", "36", by=inspector)
    tablet.send(mine)
    tablet.client.post(reverse("sync-settle", args=[mine["id"]]), {"how": "theirs"})
    assert guard.readings.get().typed == "36"
    again = tablet.made("record_reading", mine["id"], part=str(guard.pk), fact="height_in", typed="34", seen="")
    assert outcomes(tablet.send(again)) == ["applied"]


def test_a_newer_entry_takes_the_place_of_the_one_in_conflict(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    first = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="33", seen="")
    second = tablet.made("record_reading", first["id"], part=str(guard.pk), fact="height_in", typed="34", seen="")
    record_reading(guard, "height_in", "36", by=inspector)
    assert outcomes(tablet.send(first, second)) == ["conflict", "conflict"]
    open_ones = SyncOperation.objects.filter(settled_at=None)
    assert [one.answer["mine"] for one in open_ones] == ["34"]


def test_two_who_wrote_the_same_are_at_one(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    record_reading(guard, "height_in", "36", by=inspector)
    mine = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="36", seen="")
    assert outcomes(tablet.send(mine)) == ["applied"]


def test_a_value_that_cannot_be_read_is_refused_and_the_rest_goes_on(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    bad = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="knee high", seen="")
    good = tablet.made("record_reading", bad["id"], part=str(guard.pk), fact="height_in", typed="36", seen="")
    answers = tablet.send(bad, good)
    assert outcomes(answers) == ["refused", "applied"]
    assert answers[0]["words"]
    assert "knee high" in tablet.client.get(reverse("sync-problems")).text


def test_what_belongs_to_a_refused_part_is_refused_with_it(tablet):
    part = tablet.part("pergola")
    reading = tablet.made("record_reading", part=part["payload"]["part"], fact="height_in", typed="36", seen="")
    assert outcomes(tablet.send(part, reading)) == ["refused", "refused"]


def test_a_part_that_was_taken_out_meanwhile_takes_no_reading(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    remove_part(guard, by=inspector)
    late = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="36", seen="")
    (answer,) = tablet.send(late)
    assert answer["outcome"] == "refused" and "taken out" in answer["words"]


def test_a_short_name_that_was_given_away_meanwhile_becomes_the_next(tablet, visit, inspector):
    add_part(visit, "beam", by=inspector, key="B1")
    beam = tablet.part("beam", key="B1")
    post = tablet.part("post", key="P1", readings={"beam": beam["payload"]["part"]})
    answers = tablet.send(beam, post)
    assert answers[0]["key"] == "B2"
    assert whole_record(visit)["post", "P1", "beam"][0] == "B2"


def test_names_clearing_and_taking_out(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    reading = record_reading(guard, "height_in", "36", by=inspector)
    part = str(guard.pk)
    cleared = tablet.made("clear_reading", part=part, fact="height_in", seen=version_of(reading))
    named = tablet.made("name_part", part=part, name="left", seen="")
    assert outcomes(tablet.send(cleared, named)) == ["applied", "applied"]
    guard.refresh_from_db()
    assert (guard.name, guard.readings.count()) == ("left", 0)
    stale = tablet.made("name_part", part=part, name="right", seen="")
    assert outcomes(tablet.send(stale)) == ["conflict"]
    assert outcomes(tablet.send(tablet.made("remove_part", part=part))) == ["applied"]
    guard.refresh_from_db()
    assert guard.removed_at is not None


def test_a_finding_is_recorded_changed_and_taken_out(tablet, visit):
    finding = str(uuid4())
    fields = {"link": "edge", "title": "Rail wobbles", "seen": "Two posts", "action": "look_after", "who": "owner"}
    fields["how_soon"] = "no_date"
    new = tablet.made("record_finding", finding=finding, fields=fields)
    changed = tablet.made("record_finding", new["id"], finding=finding, fields={**fields, "seen": "Three posts"})
    assert outcomes(tablet.send(new, changed)) == ["applied", "applied"]
    assert visit.findings.get().seen == "Three posts"
    assert outcomes(tablet.send(tablet.made("remove_finding", finding=finding))) == ["applied"]
    assert Finding.objects.get().removed_at is not None


def test_a_finding_without_its_words_is_refused_in_words(tablet):
    fields = {"link": "edge", "action": "put_right", "how_soon": "no_date", "who": "owner"}
    (answer,) = tablet.send(tablet.made("record_finding", finding=str(uuid4()), fields=fields))
    assert answer["outcome"] == "refused" and "one line" in answer["words"] and "how soon" in answer["words"]


def test_a_finding_that_another_tablet_changed_is_not_overwritten(tablet, visit):
    finding = str(uuid4())
    fields = {"link": "edge", "title": "Loose", "action": "look_after", "how_soon": "no_date", "who": "owner"}
    tablet.send(tablet.made("record_finding", finding=finding, fields=fields))
    stale = tablet.made("record_finding", finding=finding, fields={**fields, "title": "Tight"}, seen="2020-01-01")
    (answer,) = tablet.send(stale)
    assert (answer["outcome"], answer["mine"], answer["theirs"]) == ("conflict", "Tight", "Loose")
    assert visit.findings.get().title == "Loose"


@pytest.mark.parametrize("off_by", [timedelta(days=1), timedelta(days=-1), timedelta(0)])
def test_a_clock_that_is_wrong_by_a_day_is_put_right(tablet, visit, inspector, off_by):
    guard = add_part(visit, "guard", by=inspector)
    now = timezone.now()
    entered = now - timedelta(hours=2)
    one = tablet.made(
        "record_reading", made_at=entered + off_by, part=str(guard.pk), fact="height_in", typed="36", seen=""
    )
    tablet.send(one, sent_at=now + off_by)
    assert abs(guard.readings.get().at - entered) < timedelta(seconds=10)
    assert abs(SyncOperation.objects.get().skew_s + off_by.total_seconds()) < 10


def test_a_clock_that_was_changed_in_between_is_not_believed(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    late = timezone.now() + timedelta(days=400)
    one = tablet.made("record_reading", made_at=late, part=str(guard.pk), fact="height_in", typed="36", seen="")
    tablet.send(one)
    assert abs(guard.readings.get().at - timezone.now()) < timedelta(seconds=10)


def test_a_sign_in_that_ran_out_is_said_and_nothing_is_lost(tablet, visit, inspector):
    sent = ledger_and_guard(tablet)
    tablet.client.logout()
    assert tablet.send(*sent) is None
    assert tablet.answer.status_code == 401
    tablet.client.force_login(inspector)
    assert outcomes(tablet.send(*sent)) == ["applied"] * 5


def test_another_person_who_signed_in_does_not_send_what_is_not_theirs(tablet, make_person):
    sent = ledger_and_guard(tablet)
    tablet.client.force_login(make_person("inspector", username="other"))
    assert tablet.send(*sent) is None
    assert tablet.answer.status_code == 409


def test_the_visit_of_another_is_refused_as_on_the_page(client, make_person, inspector, visit):
    other = make_person("inspector", "manager", username="other")
    client.force_login(other)
    tablet = Tablet(client, other, visit)
    (seen_only,) = tablet.send(tablet.part("ledger"))
    assert seen_only["outcome"] == "refused" and "own inspector" in seen_only["words"]
    stranger = make_person("inspector", username="stranger")
    client.force_login(stranger)
    tablet = Tablet(client, stranger, visit)
    (unseen,) = tablet.send(tablet.part("ledger"))
    assert unseen["outcome"] == "refused" and "no such visit" in unseen["words"]
    assert not visit.parts.exists()


def test_a_visit_that_was_handed_in_meanwhile_keeps_what_was_typed(signed_in, inspector):
    visit = make_visit(inspector, state="handed_in")
    tablet = Tablet(signed_in(inspector), inspector, visit)
    (answer,) = tablet.send(tablet.part("ledger", name="kitchen side"))
    assert answer["outcome"] == "refused" and "closed" in answer["words"]
    assert "kitchen side" in tablet.client.get(reverse("sync-problems")).text


@pytest.mark.parametrize(
    "body",
    ["", "[]", "{}", '{"operations": 1}', '{"operations": null, "person": 1}', "[" * 5000, "\xff"],
)
def test_what_is_no_batch_is_refused_without_a_fault(tablet, body):
    answer = tablet.client.post(reverse("sync"), body, content_type="application/json")
    assert answer.status_code in (400, 409)


@pytest.mark.parametrize(
    "payload",
    [None, [], {"part": 5}, {"part": "x"}, {"part": None, "kind": []}, {"kind": "guard", "part": str(uuid4()),
     "readings": {"height_in": 5}}, {"kind": "guard", "part": str(uuid4()), "name": "\x00"},
     {"kind": "guard", "part": str(uuid4()), "name": "\ud800", "\x00": ["\x00"]}],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["add_part", "record_reading", "add_fasteners", "record_finding", "add_photo", "x"])
def test_a_payload_of_any_shape_is_answered(tablet, visit, kind, payload):
    one = {**tablet.made(kind), "payload": payload}
    (answer,) = tablet.send(one)
    assert answer["outcome"] in ("refused", "later", "applied")
    assert answer["words"] or answer["outcome"] == "applied"
    assert answer["words"] != "The server could not take this yet."


def test_a_fault_of_the_server_keeps_the_entry_on_the_tablet(tablet, monkeypatch, caplog):
    from inspections.sync import kinds

    monkeypatch.setitem(kinds.DOES, "name_part", lambda *args: 1 / 0)
    sent = ledger_and_guard(tablet)
    broken = tablet.made("name_part", part=sent[0]["payload"]["part"], name="x")
    answers = tablet.send(sent[0], broken, *sent[1:])
    assert outcomes(answers) == ["applied", "later", *["applied"] * 4]
    assert "ZeroDivisionError" in caplog.text


def test_readings_have_their_writer_and_time(tablet, visit, inspector):
    tablet.send(*ledger_and_guard(tablet))
    assert set(Reading.objects.values_list("by", flat=True)) == {inspector.pk}


def on_a_page(client, part, fact, typed, operation=""):
    """A fact as the page of the walk sends it on a change, under the id that the tablet gave the entry."""
    address = reverse("reading-record", args=[part.visit_id, part.pk], query={"fact": fact})
    headers = {"HX-Request": "true", **({"X-Operation": operation} if operation else {})}
    return client.post(address, {fact: typed, f"{fact}.seen": '["", "measured", ""]'}, headers=headers)


def test_an_entry_whose_answer_was_lost_is_sent_again_and_does_not_undo_what_came_after_it(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    entry = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="33", how="measured", seen="")
    assert on_a_page(tablet.client, guard, "height_in", "33", entry["id"]).status_code == 200
    record_reading(guard, "height_in", "36", by=inspector)
    (again,) = tablet.send(entry)
    assert again["outcome"] == "applied"
    assert guard.readings.get(fact="height_in").value == 36


def test_an_entry_that_a_page_was_refused_is_not_taken_for_done(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    entry = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="high", how="measured", seen="")
    assert on_a_page(tablet.client, guard, "height_in", "high", entry["id"]).status_code == 422
    assert not SyncOperation.objects.exists()
    assert outcomes(tablet.send(entry)) == ["refused"], "and its inspector is told"


def test_what_follows_an_entry_of_a_page_is_no_conflict_with_it(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    first = tablet.made("record_reading", part=str(guard.pk), fact="height_in", typed="33", how="measured", seen="")
    on_a_page(tablet.client, guard, "height_in", "33", first["id"])
    second = tablet.made(
        "record_reading", part=str(guard.pk), fact="height_in", typed="34", how="measured", seen="", follows=first["id"]
    )
    assert outcomes(tablet.send(first, second)) == ["applied", "applied"]
    assert guard.readings.get(fact="height_in").value == 34


def test_a_row_of_fasteners_whose_answer_was_lost_is_sent_again_and_stands_once(tablet, visit, inspector):
    ledger = add_part(visit, "ledger", by=inspector)
    entry = tablet.made(
        "add_fasteners", ledger=str(ledger.pk), row="upper", facts={"fastener": "lag screw"},
        parts=[{"id": str(uuid4()), "position_in": place} for place in (4, 20, 36)],
    )  # fmt: skip
    typed = {"first": "4", "every": "16", "last": "36", "row": "upper", "fastener": "lag screw"}
    ids = [one["id"] for one in entry["payload"]["parts"]]
    answer = tablet.client.post(
        reverse("fasteners-add", args=[visit.pk, ledger.pk]), {**typed, "part_ids": " ".join(ids)},
        headers={"HX-Request": "true", "X-Operation": entry["id"]},
    )  # fmt: skip
    assert answer.status_code == 200
    (again,) = tablet.send(entry)
    assert again["outcome"] == "applied"
    assert again["keys"] == dict(zip(ids, ("F1", "F2", "F3"), strict=True))
    assert visit.parts.filter(kind="fastener").count() == 3


def test_a_name_whose_answer_was_lost_is_sent_again_and_does_not_undo_a_later_one(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    entry = tablet.made("name_part", part=str(guard.pk), name="front", seen="")
    address = reverse("reading-record", args=[visit.pk, guard.pk])
    tablet.client.post(address, {"part-name": "front"}, headers={"HX-Request": "true", "X-Operation": entry["id"]})
    name_part(guard, "left", by=inspector)
    assert outcomes(tablet.send(entry)) == ["applied"]
    guard.refresh_from_db()
    assert guard.name == "left"


def test_what_is_changed_of_a_fastener_after_its_row_came_in_is_no_conflict_with_the_row(tablet, visit, inspector):
    board, row, *_ = ledger_and_guard(tablet)[0], ledger_and_guard(tablet)[2]
    row["payload"]["ledger"] = board["payload"]["part"]
    made = tablet.send(board, row)[1]
    one = row["payload"]["parts"][1]["id"]
    changed = tablet.made("record_reading", part=one, fact="diameter_in", typed="3/8", seen=made["version"])
    assert outcomes(tablet.send(changed)) == ["applied"]


def test_what_is_put_right_of_a_part_before_it_was_sent_is_no_conflict_with_oneself(tablet, visit):
    first, second = tablet.part("beam", key="B1"), tablet.part("beam", key="B2")
    joists = tablet.part("joist_field", key="J1", readings={"beam": second["payload"]["part"]})
    part = joists["payload"]["part"]
    moved = tablet.made(
        "record_reading", part=part, fact="beam", typed=first["payload"]["part"], seen="", follows=joists["id"]
    )
    opened = tablet.made("record_reading", part=part, fact="span_in", typed="11'", seen="", follows=joists["id"])
    assert outcomes(tablet.send(first, second, joists, moved, opened)) == ["applied"] * 5
    assert whole_record(visit)["joist_field", "J1", "beam"][0] == "B1"


def test_what_is_put_right_of_a_fastener_before_its_row_was_sent_is_no_conflict_with_oneself(tablet, visit):
    board, _, row, *_ = ledger_and_guard(tablet)
    row["payload"]["ledger"] = board["payload"]["part"]
    one = row["payload"]["parts"][1]["id"]
    put_right = [
        tablet.made("record_reading", part=one, fact=fact, typed=typed, seen="", follows=row["id"])
        for fact, typed in (("diameter_in", "3/8"), ("condition", "loose"))
    ]
    assert outcomes(tablet.send(board, row, *put_right)) == ["applied"] * 4
    assert whole_record(visit)["fastener", "F2", "diameter_in"][0] == 0.375


def test_a_page_without_an_id_or_with_a_broken_one_writes_all_the_same(tablet, visit, inspector):
    guard = add_part(visit, "guard", by=inspector)
    assert on_a_page(tablet.client, guard, "height_in", "33", "none").status_code == 200
    assert guard.readings.get(fact="height_in").value == 33
    assert not SyncOperation.objects.exists()

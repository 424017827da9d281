"""A check put into the words of a finding."""

import math

import pytest

from engine.results import Check, Method, Verdict
from inspections.findings.from_check import LONGEST_PLACE, places
from inspections.findings.models import Defect
from inspections.findings.services import propose_from_check, record_finding
from inspections.survey.deck import assess_visit
from inspections.survey.services import add_part

pytestmark = pytest.mark.django_db


def a_check(**fields):
    given = {
        "id": "ledger.fastener_nds",
        "subject": "fastener 7 of ledger LD1 (F7)",
        "link": "ledger and house",
        "title": "Load on a fastener by the yield equations",
        "verdict": Verdict.FAILS,
        "method": Method.CALCULATION,
        "citation": "NDS 12.3.1",
        "unit": "lb",
        "demand": 480.0,
        "capacity": 400.0,
        "ratio": 1.2,
        **fields,
    }
    return Check(**given)


@pytest.fixture
def parts(visit):
    for kind, key in [("ledger", "LD1"), ("fastener", "F1"), ("fastener", "F7")]:
        visit.parts.create(kind=kind, key=key)
    return {part.key: part for part in visit.parts.all()}


def test_the_numbers_their_source_and_the_part_are_in_it(visit, parts):
    finding = propose_from_check(visit, a_check())
    assert finding._state.adding
    assert (finding.link, finding.part, finding.place) == (
        "ledger and house",
        parts["F7"],
        "fastener 7 of ledger LD1 (F7)",
    )
    assert finding.seen == (
        "Load on a fastener by the yield equations. Demand 480 lb, capacity 400 lb: 120 %. Calculated by NDS 12.3.1."
    )
    assert (finding.action, finding.how_soon) == ("put_right", "two_weeks")


def test_what_fails_at_several_places_is_one_finding_that_names_them_all(visit, inspector):
    facts = {"stands": "on a ledger", "width_in": "14'", "depth_in": "12'", "height_in": "42"}
    add_part(visit, "level", by=inspector, readings=facts)
    for name in ("front", "left"):
        add_part(visit, "guard", by=inspector, name=name, readings={"is_present": "yes", "height_in": "33"})
    check = next(one for one in assess_visit(visit).checks if one.id == "guard.height" and "G1" in one.subject)
    finding = propose_from_check(visit, check)
    assert finding.place.count(";") == 1 and "G1" in finding.place and "G2" in finding.place
    assert finding.part.key == "G1"
    finding.full_clean(exclude=["by", "visit"])


def test_more_places_than_there_is_room_for_are_counted():
    words = places(a_check(subject=f"fastener {number} of ledger LD1 (F{number})") for number in range(1, 41))
    assert len(words) <= LONGEST_PLACE
    assert words.startswith("fastener 1 of ledger LD1 (F1); ")
    assert words.endswith(f"; and {40 - words.count('(F')} more")


def test_a_failing_check_brings_the_catalogues_words(visit, parts):
    finding = propose_from_check(visit, a_check())
    assert finding.defect == Defect.objects.get(slug="ledger-fasteners-overloaded")
    assert (finding.title, finding.remedy) == (finding.defect.title, finding.defect.remedy)


def test_an_entry_not_offered_is_not_chosen(visit):
    Defect.objects.filter(check_id="ledger.fastener_nds").update(is_offered=False)
    finding = propose_from_check(visit, a_check())
    assert finding.defect is None
    assert finding.title == "Load on a fastener by the yield equations"


@pytest.mark.parametrize(
    ("ratio", "action"), [(1.01, "put_right"), (1.5, "put_right"), (1.51, "keep_off"), (math.inf, "keep_off")]
)
def test_a_gross_overload_proposes_to_keep_off(visit, ratio, action):
    finding = propose_from_check(visit, a_check(ratio=ratio, capacity=480 / ratio, demand=480.0))
    assert finding.action == action
    assert "inf" not in finding.seen
    assert "nan" not in finding.seen


def test_a_prescriptive_rule_not_met_is_put_right_in_three_months(visit):
    finding = propose_from_check(visit, a_check(id="guard.height", method=Method.PRESCRIPTIVE, ratio=2.0))
    assert (finding.action, finding.how_soon) == ("put_right", "three_months")


def test_what_cannot_be_told_becomes_find_out_without_a_number(visit):
    check = a_check(
        verdict=Verdict.CANNOT_TELL, demand=None, capacity=None, ratio=None,
        reason="length of the lag screw is not known",
        settles=("take out one lag screw and measure it", "look at the band from inside"),
    )  # fmt: skip
    finding = propose_from_check(visit, check)
    assert finding.action == "find_out"
    assert finding.defect is None
    assert finding.seen == (
        "Load on a fastener by the yield equations. Cannot be judged yet: length of the lag screw is not known."
        " Calculated by NDS 12.3.1."
    )
    assert finding.remedy == "To settle it: take out one lag screw and measure it; look at the band from inside."


def test_what_holds_is_sound(visit):
    finding = propose_from_check(visit, a_check(verdict=Verdict.HOLDS, ratio=0.6, demand=240.0))
    assert (finding.action, finding.how_soon, finding.defect) == ("sound", "no_date", None)


def test_a_rule_of_yes_or_no_gives_its_reason(visit):
    check = a_check(
        id="guard.present", link="edge", title="A guard where the drop asks for one", method=Method.PRESCRIPTIVE,
        unit="yes/no", demand=None, capacity=None, ratio=None,
        reason="no guard at a drop of 84 in, more than 30 in", citation="IRC R312.1.1",
    )  # fmt: skip
    finding = propose_from_check(visit, check)
    assert finding.seen == (
        "A guard where the drop asks for one. No guard at a drop of 84 in, more than 30 in. Rule: IRC R312.1.1."
    )


def test_a_rule_says_its_own_numbers_which_may_be_either_way_round(visit):
    check = a_check(
        id="guard.opening", link="edge", method=Method.PRESCRIPTIVE, unit="in", demand=5.5, capacity=4.0, ratio=1.375,
        reason="largest opening 5.5 in, at most 4 in allowed", citation="IRC R312.1.3", title="Openings of the guard",
    )  # fmt: skip
    assert propose_from_check(visit, check).seen == (
        "Openings of the guard. Largest opening 5.5 in, at most 4 in allowed. Rule: IRC R312.1.3."
    )


def test_a_rule_that_gives_no_reason_is_compared_without_saying_which_is_which(visit):
    check = a_check(
        id="guard.opening", link="edge", method=Method.PRESCRIPTIVE, unit="in", demand=5.5, capacity=4.0, ratio=1.375,
        citation="IRC R312.1.3", title="Openings of the guard",
    )  # fmt: skip
    assert propose_from_check(visit, check).seen == (
        'Openings of the guard. Compared: 5 1/2" against 4": 138 %. Rule: IRC R312.1.3.'
    )


def test_a_part_of_another_visit_or_taken_out_is_not_named(visit, parts):
    visit.parts.filter(key="F7").update(removed_at="2026-01-01T00:00:00Z")
    assert propose_from_check(visit, a_check()).part == parts["LD1"]


@pytest.mark.parametrize("verdict", list(Verdict))
def test_every_proposal_can_be_recorded_as_it_is(visit, inspector, verdict):
    check = a_check(verdict=verdict, subject="x" * 300, title="t" * 300, id="no.such")
    finding = record_finding(propose_from_check(visit, check), by=inspector)
    finding.full_clean()

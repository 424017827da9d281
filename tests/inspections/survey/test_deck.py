"""A record becomes the engine's deck: the same facts, in the engine's units, and nothing that was not recorded."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from engine import Deck
from engine.errors import DeckFaults
from engine.vocabulary import BY_PLURAL
from inspections.survey.basis import basis_json
from inspections.survey.deck import assess_visit, deck_json, read_record
from inspections.survey.services import add_part, record_reading
from tests.inspections.survey.recorded import record_deck
from tests.make import make_property, make_visit

pytestmark = pytest.mark.django_db
A_DECK = Path(__file__).parents[2] / "engine" / "decks" / "sound_ledger_deck.json"


def test_a_deck_typed_in_fact_by_fact_comes_out_as_it_went_in():
    wanted = json.loads(A_DECK.read_text())
    basis = wanted["basis"]
    place = make_property(
        edition=basis["edition"],
        live_psf=Decimal("40.0"),
        frost_depth_in=Decimal("30.0"),
        soil_psf=Decimal(2000),
    )
    visit = make_visit(property=place)
    record_deck(visit, wanted)

    made = deck_json(visit)
    for plural in BY_PLURAL:
        assert made.get(plural, []) == wanted.get(plural, []), plural
    assert Deck.from_json(made).parts == Deck.from_json(wanted).parts


def test_the_building_rules_come_from_the_property():
    place = make_property(
        edition="IRC 2018", live_psf=Decimal("60.0"), ground_snow_psf=Decimal("70.0"), frost_depth_in=Decimal("42.5"),
        soil_psf=Decimal(3000), is_near_salt_water=True,
    )  # fmt: skip
    assert basis_json(place) == {
        "edition": "IRC 2018", "live_psf": 60.0, "ground_snow_psf": 70.0, "frost_depth_in": 42.5, "soil_psf": 3000.0,
        "is_near_salt_water": True,
    }  # fmt: skip
    assert "frost_depth_in" not in basis_json(make_property(frost_depth_in=None))


def test_what_could_not_be_reached_is_unknown_and_what_nobody_wrote_is_left_out():
    visit = make_visit()
    joists = add_part(visit, "joist_field", by=visit.inspector, readings={"span_in": "8' 8\""})
    record_reading(joists, "species", "", how="not_reachable", by=visit.inspector)
    assert deck_json(visit)["joist_fields"] == [{"id": "J1", "species": "unknown", "span_in": 104.0}]


def test_an_open_field_that_a_beam_must_have_does_not_silence_the_other_verdicts():
    visit = make_visit()
    add_part(visit, "beam", by=visit.inspector)
    add_part(visit, "joist_field", by=visit.inspector, readings={"size": "2x10", "span_in": "104", "spacing_in": "16"})
    assert deck_json(visit)["beams"] == [{"id": "B1", "plies": "unknown"}]
    assert assess_visit(visit).about("J1")


def test_a_footing_whose_post_is_not_said_waits_outside_the_deck():
    visit = make_visit()
    add_part(visit, "footing", by=visit.inspector, readings={"width_in": "20"})
    record = read_record(visit)
    assert list(record.loose) == ["FT1"]
    assert "footings" not in deck_json(visit)


def test_what_hangs_on_a_loose_part_is_loose_too():
    visit = make_visit()
    add_part(visit, "post", by=visit.inspector)  # of no beam yet
    add_part(visit, "footing", by=visit.inspector)  # of that post
    assert set(read_record(visit).loose) == {"P1", "FT1"}


def test_a_fastener_beyond_the_end_of_its_ledger_is_told_as_a_contradiction():
    visit = make_visit()
    add_part(visit, "ledger", by=visit.inspector, readings={"length_in": "10'"})
    add_part(visit, "fastener", by=visit.inspector, readings={"position_in": "12'"})
    with pytest.raises(DeckFaults) as told:
        assess_visit(visit)
    assert [fault.path for fault in told.value.faults] == ["fasteners[0].position_in"]


def test_an_assumed_reading_is_named_as_an_assumption():
    visit = make_visit()
    joists = add_part(visit, "joist_field", by=visit.inspector)
    record_reading(joists, "span_in", "8' 8\"", how="assumed", by=visit.inspector)
    record_reading(joists, "spacing_in", "16", by=visit.inspector)
    assert read_record(visit).assumed == ["span of joist field J1 assumed on the visit: 8' 8\""]


def test_the_record_is_read_in_a_constant_number_of_queries(django_assert_max_num_queries):
    visit = make_visit()
    for _ in range(12):
        add_part(visit, "joist_field", by=visit.inspector, readings={"span_in": "104"})
    with django_assert_max_num_queries(4):
        deck_json(visit)


def test_parts_stand_in_the_order_of_their_numbers():
    visit = make_visit()
    add_part(visit, "ledger", by=visit.inspector)
    for _ in range(11):
        add_part(visit, "fastener", by=visit.inspector, readings={"position_in": "10"})
    keys = [part["id"] for part in deck_json(visit)["fasteners"]]
    assert keys == [f"F{number}" for number in range(1, 12)]

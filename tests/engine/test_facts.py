import pytest

from engine.deck import Deck
from engine.errors import OutOfRange
from engine.facts import MOST_COMBINATIONS, NotRecorded, explore
from tests.engine.deck_files import changed


def read(*names, part_id="J1"):
    def function(deck):
        return tuple(deck.part(part_id).value(name) for name in names)

    return function


def results(file, function):
    return [outcome.result for outcome in explore(Deck.from_json(file), function)]


def test_a_recorded_fact_is_read_once_and_as_it_stands():
    found = explore(Deck.from_json(changed()), read("span_in", "species"))
    assert [outcome.result for outcome in found] == [(104.0, "southern pine")]
    assert found.reads == {"J1.span_in", "J1.species"}


def test_an_unknown_species_is_tried_with_every_plausible_one():
    found = results(changed(J1={"species": "unknown"}), read("species"))
    assert found == [("southern pine",), ("douglas fir-larch",), ("hem-fir",), ("spruce-pine-fir",)]


def test_one_of_several_is_tried_with_those_only():
    assert results(changed(J1={"spacing_in": {"one_of": [12, 16]}}), read("spacing_in")) == [(12.0,), (16.0,)]


def test_only_the_facts_that_are_read_are_enumerated():
    file = changed(J1={"species": "unknown", "grade": "unknown", "spacing_in": {"one_of": [12, 16]}})
    assert len(results(file, read("span_in"))) == 1
    assert len(results(file, read("grade"))) == 3
    assert len(results(file, read("grade", "spacing_in", "species"))) == 3 * 2 * 4


def test_a_fact_that_only_some_values_lead_to_is_tried_under_those_only():
    def species_of_wood_on_hangers(deck):
        field = deck.part("J1")
        return field.text("species") if field.text("house_end") == "joist hanger" else "elsewhere"

    file = changed(J1={"species": "unknown", "house_end": {"one_of": ["joist hanger", "nails only"]}})
    assert results(file, species_of_wood_on_hangers) == [
        "southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir", "elsewhere",
    ]  # fmt: skip


def test_one_fact_has_one_value_in_a_run_however_often_it_is_read():
    for first, again in results(changed(J1={"species": "unknown"}), read("species", "species")):
        assert first == again


def test_a_fact_left_out_takes_its_default_and_says_so():
    (outcome,) = explore(Deck.from_json(changed(J1={"grade": ...})), read("grade"))
    assert outcome.result == ("No. 2",)
    assert len(outcome.assumptions) == 1
    assert "grade of joist field J1 not recorded: No. 2 taken (the grade behind" in outcome.assumptions[0]


def test_a_fact_that_was_looked_for_and_not_found_does_not_take_its_default():
    """Depth of decay left out means that none was noted; unknown means that nobody could probe."""
    (outcome,) = explore(Deck.from_json(changed(J1={"decay_depth_in": ...})), read("decay_depth_in"))
    assert outcome.result == (0.0,)
    (outcome,) = explore(Deck.from_json(changed(J1={"decay_depth_in": "unknown"})), read("decay_depth_in"))
    assert isinstance(outcome.refusal, NotRecorded)
    assert outcome.refusal.path == "J1.decay_depth_in"


def test_an_unknown_choice_is_tried_with_every_choice_it_has():
    assert len(results(changed(LD1={"house_band": "unknown"}), read("house_band", part_id="LD1"))) == 8
    assert results(changed(P1={"is_braced": "unknown"}), read("is_braced", part_id="P1")) == [(True,), (False,)]


def test_soil_of_unknown_bearing_takes_the_presumptive_value_and_says_so():
    (outcome,) = explore(
        Deck.from_json(changed(basis={"soil_psf": "unknown"})), lambda deck: deck.basis.number("soil_psf")
    )
    assert outcome.result == 1500
    assert "soil of the basis unknown: 1500 psf taken" in outcome.assumptions[0]


def test_a_missing_fact_is_asked_for_in_words():
    (outcome,) = explore(Deck.from_json(changed(J1={"span_in": ...})), read("span_in"))
    assert outcome.refusal.words == "record the span of joist field J1 (clear between supports, in)"


def test_a_refusal_under_one_value_is_an_outcome_and_no_exception():
    def refuse_hem_fir(deck):
        if deck.part("J1").text("species") == "hem-fir":
            raise OutOfRange("species", "hem-fir", "another one")
        return 1

    found = explore(Deck.from_json(changed(J1={"species": "unknown"})), refuse_hem_fir)
    assert [outcome.refusal is not None for outcome in found] == [False, False, True, False]


def test_arithmetic_that_breaks_down_is_a_refusal_and_no_exception():
    (outcome,) = explore(Deck.from_json(changed()), lambda deck: 1 / 0)
    assert "arithmetic breaks down" in str(outcome.refusal)


def test_more_combinations_than_are_tried_stop_at_once():
    file = changed(**{f"F{n}": {"condition": "unknown"} for n in range(1, 13)})
    runs = []

    def conditions(deck):
        runs.append(1)
        return [deck.part(f"F{n}").text("condition") for n in range(1, 13)]

    found = explore(Deck.from_json(file), conditions)
    assert len(list(found)) == len(runs) == 1  # five to the twelfth was foreseen after one run
    assert not found.is_complete


def test_as_many_combinations_as_are_tried_are_all_tried():
    file = changed(
        J1={
            "species": "unknown", "grade": {"one_of": ["No. 1", "No. 2"]}, "spacing_in": {"one_of": list(range(4, 36))},
            "span_in": {"one_of": list(range(100, 116))},
        }
    )  # fmt: skip
    found = explore(Deck.from_json(file), read("species", "grade", "spacing_in", "span_in"))
    assert len({outcome.result for outcome in found}) == MOST_COMBINATIONS
    assert found.is_complete


def test_a_kept_result_says_the_same_as_the_one_that_was_worked_out():
    def twice(deck):
        part = deck.part("J1")
        return [deck.run.once("grade", lambda: part.text("grade")) for _ in range(2)]

    deck = Deck.from_json(changed(J1={"grade": ...}))
    explorations = explore(deck, twice), explore(deck, twice)
    (first,), (again,) = explorations
    assert again == first
    assert [each.reads for each in explorations] == [{"J1.grade"}] * 2
    assert first.assumptions


def test_a_result_that_rests_on_an_uncertain_fact_is_kept_for_each_of_its_values():
    worked_out = []

    def species(deck):
        def work():
            found = deck.part("J1").text("species"), deck.part("J1").text("grade")
            worked_out.append(found)
            return found

        return deck.run.once("wood", work)

    def wood_and_span(deck):
        return deck.run.once("wood and span", lambda: (*species(deck), deck.part("J1").number("span_in")))

    deck = Deck.from_json(changed(J1={"species": "unknown", "grade": ..., "span_in": {"one_of": [96, 104]}}))
    first, again = list(explore(deck, wood_and_span)), list(explore(deck, wood_and_span))
    assert [each.result for each in first] == [
        (wood, "No. 2", span)
        for wood in ("southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir")
        for span in (96.0, 104.0)
    ]
    assert again == first
    assert len(worked_out) == 4
    assert {each.assumptions for each in first} == {first[0].assumptions} != {()}


def test_a_result_kept_for_one_path_through_the_facts_does_not_answer_for_another():
    """What a piece of work reads may follow from what it read before: hangers have a rating, nails have none."""

    def held(deck):
        def work():
            field = deck.part("J1")
            if field.text("house_end") == "joist hanger":
                return field.number("hanger_rated_lb")
            return field.text("species")

        return deck.run.once("held", work)

    file = changed(
        J1={
            "house_end": {"one_of": ["joist hanger", "nails only"]}, "hanger_rated_lb": {"one_of": [500, 700]},
            "species": "unknown",
        }
    )  # fmt: skip
    deck = Deck.from_json(file)
    expected = [500.0, 700.0, "southern pine", "douglas fir-larch", "hem-fir", "spruce-pine-fir"]
    assert [each.result for each in explore(deck, held)] == expected
    assert [each.result for each in explore(deck, held)] == expected


def test_a_part_without_a_level_belongs_to_the_only_one():
    file = changed(J1={"level": ...})
    assert results(file, lambda deck: deck.part("J1").refers_to("level").id) == ["L1"]
    assert results(file, lambda deck: [part.id for part in deck.part("L1").parts("joist_field")]) == [["J1"]]
    file["levels"].append({"id": "L2", "stands": "free-standing"})
    assert results(file, lambda deck: deck.part("J1").refers_to("level")) == [None]


def test_the_parts_that_refer_to_one_come_in_the_order_of_the_file():
    assert results(changed(), lambda deck: [part.id for part in deck.part("B1").parts("post")]) == [["P1", "P2", "P3"]]


def test_a_name_that_is_not_in_the_vocabulary_is_a_slip_in_the_check():
    with pytest.raises(KeyError):
        list(explore(Deck.from_json(changed()), read("sapn_in")))

import json

import pytest

from engine import CAUTION, Deck, __version__, assess
from engine.results import Method, Verdict
from engine.vocabulary import BY_NAME, KINDS, Link
from tests.engine.deck_files import NAMES, assessed, changed, deck_file, the


@pytest.mark.parametrize("name", NAMES)
def test_an_assessment_is_plain_data_for_json_with_all_that_a_report_freezes(name):
    found = assessed(name).to_dict()
    text = json.dumps(found, allow_nan=False)
    assert json.loads(text) == found
    assert found["engine_version"] == __version__ == "0.1.0"
    assert found["caution"] == CAUTION
    assert found["edition"]
    assert found["tables_used"]


@pytest.mark.parametrize("name", NAMES)
def test_every_answer_says_what_it_is_about_and_by_which_clause(name):
    for check in assessed(name).checks:
        assert check.subject and check.title, check
        assert check.link in set(Link)
        if check.verdict is Verdict.CANNOT_TELL:
            assert check.reason, check
            assert check.settles, check
            assert check.demand is check.capacity is check.ratio is None
        else:
            assert check.citation, check
            assert check.steps or check.reason, check
        if check.method is Method.CALCULATION and check.ratio is not None:
            assert check.steps, check
            assert check.unit, check


@pytest.mark.parametrize("name", NAMES)
def test_no_question_is_put_twice_to_the_same_part(name):
    keys = [(check.id, check.subject) for check in assessed(name).checks]
    assert len(keys) == len(set(keys))


def test_the_sound_deck_holds_by_every_published_rule_that_is_held_here():
    beyond = {"joist.overhang_table_held", "footing.table_held", "guard.tested", "guard.post_detail"}
    assessment = assessed()
    for check in assessment.checks:
        if check.method is Method.PRESCRIPTIVE and check.verdict is Verdict.CANNOT_TELL:
            assert check.id in beyond, check
        elif check.method is Method.PRESCRIPTIVE:
            assert check.verdict is Verdict.HOLDS, check


def test_the_raised_deck_fails_at_the_ledger_fasteners_beside_the_missing_ones():
    assessment = assessed("raised_deck_lags_missing")
    assert the(assessment, "ledger.spacing").verdict is Verdict.FAILS
    assert the(assessment, "ledger.fastener_state", "fastener 4 of ledger LD1 (F4)").reason == "the fastener is missing"
    beside = the(assessment, "ledger.fastener_tested", "(F3)")
    plain = the(assessment, "ledger.fastener_tested", "(F2)")
    assert beside.ratio == pytest.approx(2 * plain.ratio)
    assert assessment.worst(Link.LEDGER).verdict is Verdict.FAILS


def test_a_nail_between_the_lags_carries_nothing():
    assessment = assessed("raised_deck_lags_missing")
    assert "nails do not count" in the(assessment, "ledger.fastener_state", "(F13)").reason
    assert not [check for check in assessment.by_id("ledger.fastener_tested") if "(F13)" in check.subject]


def test_fasteners_are_numbered_along_the_ledger_whatever_their_order_in_the_file():
    file = changed()
    file["fasteners"].reverse()
    subjects = {check.subject for check in assess(Deck.from_json(file)).by_id("ledger.fastener_state")}
    assert "fastener 1 of ledger LD1 (F1)" in subjects
    assert "fastener 15 of ledger LD1 (F15)" in subjects


def test_a_name_for_people_stands_beside_the_id():
    assert the(assessed(J1={"name": "north bay"}), "joist.bending").subject == "joist field J1 (north bay)"


def test_each_span_of_a_beam_and_each_post_answers_for_itself():
    assessment = assessed()
    assert [check.subject for check in assessment.by_id("beam.span_table")] == ["beam B1, span 1", "beam B1, span 2"]
    assert [check.subject for check in assessment.by_id("post.compression")] == ["post P1", "post P2", "post P3"]
    middle, end = the(assessment, "post.compression", "P2"), the(assessment, "post.compression", "P1")
    assert middle.demand > 1.5 * end.demand


def test_two_levels_and_two_fields_are_kept_apart():
    file = changed()
    file["levels"].append({"id": "L2", "height_in": 20, "stands": "free-standing"})
    file["joist_fields"].append({**file["joist_fields"][0], "id": "J2", "span_in": 180, "level": "L2"})
    assessment = assess(Deck.from_json(file))
    assert the(assessment, "joist.bending", "J1").verdict is Verdict.HOLDS
    assert the(assessment, "joist.bending", "J2").verdict is Verdict.FAILS


def test_the_edition_that_was_adopted_is_the_one_that_answers():
    for edition, citation in (("IRC 2018", "IRC 2018 Table R507.6"), ("DCA 6-2012", "AWC DCA 6-2012 Table 2")):
        assert the(assessed(basis={"edition": edition}), "joist.span_table").citation == citation


def test_a_value_from_memory_is_said_until_the_firm_has_compared_it():
    assert the(assessed(), "beam.span_table", "span 1").from_memory
    confirmed = {"confirmations": [{"key": "beam_spans_irc_2021", "by": "the office", "on": "2024-02-01"}]}
    assert not the(assessed(basis=confirmed), "beam.span_table", "span 1").from_memory


def test_a_local_amendment_goes_before_the_edition():
    amended = {"amendments": [{"key": "guard.min_height", "value": 42, "unit": "in", "citation": "county rule 5.10"}]}
    check = the(assessed(basis=amended), "guard.height")
    assert (check.verdict, check.demand, check.citation) == (Verdict.FAILS, 42, "county rule 5.10")


def test_a_live_load_above_the_tables_leaves_the_tables_open_and_the_calculation_answers():
    assessment = assessed(basis={"live_psf": 60})
    assert the(assessment, "joist.span_table").verdict is Verdict.CANNOT_TELL
    assert the(assessment, "joist.bending").ratio == pytest.approx(the(assessed(), "joist.bending").ratio * 70 / 50)


def test_witnesses_that_disagree_are_set_side_by_side_with_the_reason():
    assessment = assessed()
    apart = {each.calculation.id: each for each in assessment.disagreements}
    assert set(apart) == {"ledger.fastener_nds"}
    assert "tests of whole ledger joints" in apart["ledger.fastener_nds"].why
    assert apart["ledger.fastener_nds"].published.verdict is Verdict.HOLDS
    # Shear that holds is no contradiction to a span table that fails for bending.
    assert not [each for each in assessed(J1={"span_in": 200}).disagreements if each.published.id == "joist.span_table"]


def test_the_worst_is_what_fails_outright_before_what_is_disputed_before_what_is_open():
    assert assessed().worst(Link.LEDGER).id == "ledger.fastener_nds"
    assert (
        assessed(LD1={"flashing": "none"}, F5={"condition": "missing"}).worst(Link.LEDGER).id == "ledger.fastener_state"
    )
    assert assessed(P1={"base": "in the ground"}).worst(Link.POSTS).id == "post.foot"
    assert assessed().worst("no such link") is None


def test_the_checks_about_one_part_are_found_by_its_id():
    found = {check.id for check in assessed().about("P2")}
    assert {"post.compression", "beam.bearing_on_post", "footing.recorded", "water.decay"} <= found


def test_an_empty_deck_is_assessed_and_asks_for_nothing_it_does_not_have():
    assert assess(Deck.from_json({"format": "soundings deck 1", "basis": {"edition": "IRC 2021"}})).checks == ()


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS])
def test_a_part_with_nothing_recorded_is_asked_about_and_never_guessed(kind):
    """Only what a part cannot be without is given: every check about it is open."""
    file = {"format": "soundings deck 1", "basis": {"edition": "IRC 2021"}}
    needed = {
        "level": {"stands": "on a ledger"}, "fastener": {"ledger": "A_ledger", "position_in": 3}, "beam": {"plies": 2},
        "post": {"beam": "A_beam"}, "footing": {"post": "A_post"}, "guard": {"is_present": True},
        "patch": {"joist_field": "A_joist_field", "what": "hot tub"},
    }  # fmt: skip

    def add(name):
        kind = BY_NAME[name]
        if any(item["id"] == f"A_{name}" for item in file.get(kind.plural, [])):
            return
        facts = needed.get(name, {})
        for reference in kind.references:
            if reference in facts:
                add(kind.index[reference].refers_to)
        file.setdefault(kind.plural, []).append({"id": f"A_{name}", **facts})

    add(kind)
    for check in assess(Deck.from_json(file)).checks:
        if check.id in ("footing.recorded", "ledger.recorded"):
            continue  # that the part is there was given
        assert check.verdict is Verdict.CANNOT_TELL, check
        assert check.settles


def test_every_fact_unknown_raises_nothing_and_asserts_nothing_that_was_measured():
    file = deck_file()
    for kind in KINDS:
        for item in file.get(kind.plural, []):
            for fact in kind.facts:
                if fact.kind != "reference":
                    item[fact.name] = "unknown"
    for check in assess(Deck.from_json(file)).checks:
        if check.method is Method.CALCULATION:
            assert check.verdict is Verdict.CANNOT_TELL, check


def test_a_deck_of_many_unknowns_is_assessed_in_a_bounded_number_of_runs(monkeypatch):
    """64 spans and overhangs of the joists reach into every check below them: what is beyond the limit stays open."""
    monkeypatch.setattr("engine.assessment.MOST_RUNS", 2000)
    eight = {"one_of": [100, 101, 102, 103, 104, 105, 106, 107]}
    assessment = assessed(
        J1={"span_in": eight, "overhang_in": {"one_of": [1, 2, 3, 4, 5, 6, 7, 8]}, "species": "unknown"}
    )
    assert sum(len(each.cases) for each in assessment.judged) <= 2000 + len(assessment.checks)
    beyond = [check for check in assessment.checks if "more combinations of what is not known" in check.reason]
    assert beyond
    assert all(check.verdict is Verdict.CANNOT_TELL and "J1.span_in" in check.depends_on for check in beyond)
    assert the(assessment, "guard.height").verdict is Verdict.HOLDS

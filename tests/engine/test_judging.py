import pytest

from engine.checks.registry import Question, Rule, yes_no
from engine.comparison import Comparison
from engine.deck import Deck
from engine.errors import OutOfRange
from engine.facts import CannotJudge
from engine.judging import judge
from engine.results import Method, Verdict
from engine.vocabulary import Link
from tests.engine.deck_files import changed

DEMAND = {"southern pine": 60.0, "douglas fir-larch": 80.0, "hem-fir": 90.0, "spruce-pine-fir": 100.0}


def judged(answer, **changes):
    deck = Deck.from_json(changed(**changes))
    question = Question("test.check", "joist_field", Link.JOISTS, "A question", Method.CALCULATION, answer, "a clause")
    found = judge(deck, question, "joist field J1", answer)
    return found and found.check


def stress_by_species(allowed_psi):
    def answer(deck):
        return Comparison(DEMAND[deck.part("J1").text("species")], allowed_psi, "psi", "bending")

    return answer


def test_what_holds_in_every_combination_holds_and_the_worst_is_shown():
    check = judged(stress_by_species(100), J1={"species": "unknown"})
    assert (check.verdict, check.ratio) == (Verdict.HOLDS, 1.0)
    assert (
        "holds in all 4 combinations of species of joist field J1 (southern pine, douglas fir-larch"
        in check.assumptions[-1]
    )
    assert not check.depends_on


def test_what_fails_in_every_combination_fails_and_the_mildest_is_shown():
    check = judged(stress_by_species(50), J1={"species": "unknown"})
    assert (check.verdict, check.ratio) == (Verdict.FAILS, 1.2)
    assert "the mildest is shown" in check.assumptions[-1]


def test_what_holds_in_some_depends_and_names_the_fact_and_what_settles_it():
    check = judged(stress_by_species(85), J1={"species": "unknown"})
    assert check.verdict is Verdict.CANNOT_TELL
    assert check.ratio is check.demand is None
    assert check.depends_on == ("J1.species",)
    assert check.settles == ("find out the species of joist field J1",)
    assert "holds for southern pine, douglas fir-larch; fails for hem-fir, spruce-pine-fir" in check.reason
    assert "from 0.71 to 1.18" in check.reason


def test_unknown_among_one_value_is_as_good_as_known():
    known = judged(stress_by_species(85), J1={"species": "hem-fir"})
    assert judged(stress_by_species(85), J1={"species": {"one_of": ["hem-fir"]}}) == known


def test_only_the_fact_that_flips_the_verdict_is_named():
    def answer(deck):
        part = deck.part("J1")
        grade = 1.0 if part.text("grade") == "No. 1" else 1.01
        return Comparison(DEMAND[part.text("species")] * grade, 85, "psi")

    check = judged(answer, J1={"species": "unknown", "grade": "unknown"})
    assert check.depends_on == ("J1.species",)


def test_facts_that_flip_the_verdict_only_together_are_both_named():
    def answer(deck):
        part = deck.part("J1")
        return yes_no((part.text("species") == "hem-fir") == (part.text("grade") == "No. 1"), "a clause", "")

    check = judged(answer, J1={"species": {"one_of": ["hem-fir", "redwood"]}, "grade": {"one_of": ["No. 1", "No. 2"]}})
    assert check.depends_on == ("J1.species", "J1.grade")


def test_a_fact_that_decides_which_others_are_read_is_named():
    def answer(deck):
        part = deck.part("J1")
        if part.text("house_end") == "nails only":
            return yes_no(False, "a clause", "")
        return Comparison(DEMAND[part.text("species")], 120, "psi")

    check = judged(answer, J1={"species": "unknown", "house_end": {"one_of": ["nails only", "joist hanger"]}})
    assert check.depends_on == ("J1.house_end",)


def test_a_missing_fact_cannot_be_told_and_is_asked_for():
    check = judged(lambda deck: deck.part("J1").number("span_in"), J1={"span_in": ...})
    assert check.verdict is Verdict.CANNOT_TELL
    assert check.depends_on == ("J1.span_in",)
    assert check.settles == ("record the span of joist field J1 (clear between supports, in)",)


def test_a_value_out_of_range_cannot_be_told_and_no_number_is_given():
    def answer(deck):
        raise OutOfRange("snow_psf", 90, "at most 70: the table ends there")

    check = judged(answer)
    assert (check.verdict, check.ratio) == (Verdict.CANNOT_TELL, None)
    assert check.reason == "snow (psf) 90 is outside what is covered: at most 70: the table ends there"
    assert "engineer licensed" in check.settles[0]


def test_a_refusal_under_some_values_leaves_the_check_open():
    def answer(deck):
        if deck.part("J1").text("species") == "hem-fir":
            raise CannotJudge("no value for hem-fir", "look it up")
        return Comparison(1, 2, "psi")

    check = judged(answer, J1={"species": "unknown"})
    assert check.verdict is Verdict.CANNOT_TELL
    assert check.depends_on == ("J1.species",)


def test_a_question_that_never_arises_gives_no_check():
    assert judged(lambda deck: None) is None


def test_a_question_that_arises_in_some_combinations_and_holds_there_holds():
    def answer(deck):
        return None if deck.part("J1").text("species") == "hem-fir" else Comparison(1, 2, "psi")

    assert judged(answer, J1={"species": "unknown"}).verdict is Verdict.HOLDS


def test_a_question_that_arises_in_some_combinations_and_fails_there_depends():
    def answer(deck):
        return None if deck.part("J1").text("species") == "hem-fir" else Comparison(3, 2, "psi")

    check = judged(answer, J1={"species": "unknown"})
    assert check.verdict is Verdict.CANNOT_TELL
    assert check.depends_on == ("J1.species",)


def test_too_many_combinations_cannot_be_told_and_name_the_facts():
    def read_all(deck):
        return yes_no(len([deck.part(f"F{n}").text("condition") for n in range(1, 13)]) == 12, "a clause", "")

    check = judged(read_all, **{f"F{n}": {"condition": "unknown"} for n in range(1, 13)})
    assert check.verdict is Verdict.CANNOT_TELL
    assert "combinations of what is not known" in check.reason
    assert len(check.depends_on) == 12


@pytest.mark.parametrize(("is_met", "verdict"), [(True, Verdict.HOLDS), (False, Verdict.FAILS)])
def test_a_rule_of_yes_or_no_has_no_ratio(is_met, verdict):
    check = judged(lambda deck: Rule(is_met, "IRC R312", "as found"))
    assert (check.verdict, check.ratio, check.unit, check.citation) == (verdict, None, "yes/no", "IRC R312")


def test_a_demand_with_nothing_to_carry_it_fails():
    assert judged(lambda deck: Comparison(1, 0, "lb")).verdict is Verdict.FAILS

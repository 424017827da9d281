"""The sentence on the first page: the most pressing word decides, and the numbers keep it honest."""

from datetime import date

import pytest

from inspections.reports.answer import answer_of
from inspections.reports.digest import Digest


def check(verdict="holds", ratio=0.5, **fields):
    known = ratio is not None
    return {
        "id": "joist.bending", "subject": "joist field J1", "link": "joists", "title": "Joists in bending",
        "verdict": verdict, "method": "calculation", "citation": "NDS 3.3", "unit": "psi",
        "demand": 1000.0 * ratio if known else None, "capacity": 1000.0 if known else None, "ratio": ratio,
        "governs": "", "reason": "", "steps": [], "assumptions": [], "settles": [], "from_memory": [], "depends_on": [],
        **fields,
    }  # fmt: skip


def finding(action, title="Something", **fields):
    return {
        "id": title, "link": "joists", "part": None, "part_key": "", "part_name": "", "defect": "", "citation": "",
        "check_id": "", "title": title, "place": "", "seen": "", "meaning": "", "remedy": "Do it.", "action": action,
        "action_words": action.replace("_", " ").capitalize(), "how_soon": "two_weeks",
        "how_soon_words": "Within two weeks", "who": "contractor", "who_words": "Contractor", "by": "T", **fields,
    }  # fmt: skip


def answer(findings=(), checks=(), witnesses=None, issued_on=None):
    return answer_of(digest(findings, checks, witnesses, issued_on))


def digest(findings=(), checks=(), witnesses=None, issued_on=None):
    snapshot = {
        "firm": {}, "client": {}, "property": {}, "basis": {}, "inspector": {}, "cautions": [], "tables": [],
        "visit": {"begun_at": None, "starts_at": "2026-06-01T14:00:00+00:00"},
        "parts": [], "findings": list(findings), "photos": [], "assessment": {"checks": list(checks)},
        "witnesses": witnesses or {},
    }  # fmt: skip
    return Digest(snapshot, issued_on)


def test_keep_off_wins_over_everything_else():
    said = answer([finding("look_after"), finding("keep_off"), finding("put_right")], [check()])
    assert said.action == "keep_off"
    assert said.sentence.startswith("Keep off the deck: nobody should use it until")


def test_only_a_stair_can_be_closed_by_itself():
    assert "Keep off the stairs" in answer([finding("keep_off", link="way up")]).sentence
    both = answer([finding("keep_off", link="way up"), finding("keep_off", "b", link="edge")])
    assert "Keep off the deck" in both.sentence


def test_a_limit_is_said_in_the_inspectors_words():
    assert "At most eight people" in answer([finding("limit_use", "At most eight people")]).sentence


def test_a_day_that_was_over_when_the_report_was_issued_is_not_set_as_a_day_to_keep():
    late = digest([finding("put_right")], [check()], issued_on=date(2026, 6, 16))
    assert late.repairs[0].how_soon == "At once now; it was due by June 15, 2026"
    said = answer_of(late)
    assert said.sentence.startswith("One repair is needed, due at once now; it was due by June 15, 2026.")
    assert said.first_date == ""


@pytest.mark.parametrize("count", [1, 2])
def test_a_day_that_the_sentence_names_is_not_said_again_below_it(count):
    said = answer([finding("put_right", str(n)) for n in range(count)], [check()])
    assert "by June 15, 2026" in said.sentence and said.first_date == ""
    said = answer([finding("keep_off")], [check()])
    assert said.first_date == "The first of the points below is due by June 15, 2026."


@pytest.mark.parametrize("issued_on", [None, date(2026, 6, 2), date(2026, 6, 15)])
def test_a_day_that_lies_ahead_on_the_day_of_issue_is_set_as_it_stands(issued_on):
    ahead = digest([finding("put_right")], [check()], issued_on=issued_on)
    assert ahead.repairs[0].how_soon == "Within two weeks, by June 15, 2026"


def test_points_overdue_on_the_day_of_issue_count_among_those_due_at_once():
    three = [finding("put_right", "a"), finding("put_right", "b", how_soon="at_once", how_soon_words="At once")]
    three += [finding("put_right", "c", how_soon="one_year", how_soon_words="Within a year")]
    said = answer(three, [check()], issued_on=date(2026, 7, 1))
    assert said.first_date == "Two points are due at once; the next by June 1, 2027."


def test_one_open_question_is_settled_and_not_each_of_it():
    said = answer([finding("put_right")], [check("cannot tell", None, reason="no size", settles=["measure it"])])
    assert said.also == "One question has no clear answer yet; this report says what would settle it."


def test_a_repair_says_by_which_day_the_first_is_due():
    said = answer(
        [finding("put_right"), finding("put_right", "b", how_soon="three_months", how_soon_words="Within three months")]
    )
    assert said.sentence.startswith("Two repairs are needed, the first within two weeks, by June 15, 2026.")


def test_a_check_that_falls_short_without_a_finding_takes_away_the_all_clear():
    said = answer([finding("sound")], [check("fails", 1.3)])
    assert said.action == "put_right"
    assert "One check falls short of what the rules ask" in said.sentence
    assert "holds in every check" not in said.sentence


def test_a_failing_check_that_a_finding_speaks_of_is_not_counted_twice():
    said = answer([finding("put_right", check_id="joist.bending")], [check("fails", 1.3)])
    assert "beside the findings" not in said.sentence + said.also


@pytest.mark.parametrize("word", ["sound", "look_after"])
def test_an_open_check_never_ends_in_an_all_clear(word):
    said = answer([finding(word)], [check("cannot tell", None)])
    assert said.action == "find_out"
    assert said.sentence.startswith("It cannot be said yet")


def test_find_out_beside_a_number_that_falls_short_does_not_hide_the_number():
    said = answer([finding("find_out", part_key="J1")], [check("fails", 1.3)])
    assert said.action == "put_right" and "One check falls short" in said.sentence


def test_where_calculation_and_rule_differ_it_is_to_be_found_out():
    pair = {"joist.bending": {"twins": ["joist.span_table"], "why_apart": "dead load"}}
    table = check("holds", 0.8, id="joist.span_table", method="prescriptive", unit="in")
    said = answer([finding("sound")], [check("fails", 1.2), table], pair)
    assert said.action == "find_out"
    elsewhere = check("holds", 0.8, id="joist.span_table", method="prescriptive", subject="joist field J2")
    assert answer([finding("sound")], [check("fails", 1.2), elsewhere], pair).action == "put_right"


def test_an_empty_record_says_that_it_is_too_little():
    assert "too little of it was recorded" in answer().sentence


def test_sound_speaks_only_of_what_was_seen_and_measured():
    assert answer([finding("sound")], [check()]).sentence == "What could be seen and measured on the day is sound."


def test_a_repair_is_not_soothed_while_a_ledger_check_fails_under_it():
    ledger = check("fails", 2.13, id="ledger.fastener", link="ledger and house", subject="ledger LD1")
    said = answer([finding("put_right", link="ledger and house", check_id="ledger.fastener")], [ledger])
    assert "One check of what carries the deck falls short of what the rules ask, the worst at 213 %" in said.sentence
    assert "do not load it with people" in said.sentence and "holds in every check" not in said.sentence


def test_a_repair_is_not_soothed_while_a_check_of_what_carries_has_no_answer():
    said = answer([finding("put_right", link="edge")], [check("cannot tell", None, id="post.foot", link="posts")])
    assert "One check of what carries the deck has no clear answer." in said.sentence
    assert "cannot be said" in said.sentence and "holds in every check" not in said.sentence


def test_a_repair_beside_a_deck_that_was_not_calculated_promises_nothing():
    said = answer([finding("put_right")], [])
    assert "could not be checked" in said.sentence and "holds" not in said.sentence


def test_only_where_all_that_carries_holds_does_a_repair_leave_the_deck_in_use():
    said = answer([finding("put_right", link="water")], [check()])
    assert said.sentence.endswith("no finding asks you to keep off it until then.")


def test_keep_off_says_that_its_repair_does_not_clear_what_else_falls_short():
    beam = check("fails", 1.2, id="beam.bending", link="beam", subject="beam B1")
    said = answer([finding("keep_off")], [beam, check("cannot tell", None, id="post.foot", link="posts")])
    assert "One check falls short" in said.also and "no clear answer" in said.also
    assert said.also.endswith("The repair alone does not clear the deck.")


def test_a_limit_permits_nothing_that_the_checks_do_not_support():
    said = answer([finding("limit_use", "At most eight people")], [check("fails", 1.3, id="beam.bending", link="beam")])
    assert said.sentence.startswith("Use the deck only within this limit")
    assert said.also.endswith("The limit does not answer these.")


def test_upkeep_on_a_deck_of_which_nothing_that_carries_was_checked_is_no_all_clear():
    said = answer([finding("look_after", link="edge")], [check(id="guard.height", link="edge")])
    assert said.action == "find_out"

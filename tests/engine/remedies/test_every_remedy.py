"""Laws that hold for every remedy of every fixture deck: it is proved, it harms nothing unsaid, it can be written."""

import json

import pytest

from engine.assessment import assess
from engine.deck import Deck
from engine.remedies import remedies_for
from engine.results import Verdict
from tests.engine.deck_files import NAMES, deck_file
from tests.engine.remedies.proof import judged_anew, undisputed_failures, verdicts

DECKS = {name: Deck.from_json(deck_file(name)) for name in NAMES}
FOUND = {name: remedies_for(deck) for name, deck in DECKS.items()}
PROVED = [(name, remedy) for name, found in FOUND.items() for remedy in found if remedy.is_proved]
each_proved = pytest.mark.parametrize(("name", "remedy"), PROVED, ids=[f"{n}-{r.id}" for n, r in PROVED])


@pytest.mark.parametrize("name", NAMES)
def test_every_failing_check_that_no_rule_clears_has_a_remedy(name):
    answered = {(each.check_id, each.subject) for r in FOUND[name] for each in (*r.answers, *r.also_clears)}
    assert undisputed_failures(assess(DECKS[name])) <= answered


def test_the_raised_deck_fails_in_many_places():
    """Guards the laws below against an empty list."""
    assert len([remedy for name, remedy in PROVED if name == "raised_deck_lags_missing"]) > 15


@each_proved
def test_the_deck_judged_anew_from_its_file_clears_what_the_remedy_answers(name, remedy):
    after = judged_anew(remedy)
    failing = undisputed_failures(after)
    for each in (*remedy.answers, *remedy.also_clears):
        # A fastener is named by its number along the ledger, which new ones before it change; its id stays.
        part = each.subject.rpartition(" ")[2] if each.subject.startswith("fastener") else each.subject
        still = [key for key in failing if key[0] == each.check_id and key[1].endswith(part)]
        assert not still, still


@each_proved
def test_nothing_fails_with_a_remedy_that_did_not_fail_before_unless_the_remedy_says_so(name, remedy):
    before, after = undisputed_failures(assess(DECKS[name])), undisputed_failures(judged_anew(remedy))
    known = {(check_id, _part(subject)) for check_id, subject in before}
    said = {(each.check_id, _part(each.subject)) for each in remedy.makes_worse}
    new = {(check_id, _part(subject)) for check_id, subject in after} - known - said
    divided = {(check_id, subject) for check_id, subject in new if "(outer part of" in subject}
    for check_id, subject in divided:  # a field of joists that was divided has the faults it had as a whole
        whole = subject.partition("(outer part of ")[2].rstrip(")")
        assert any(key[0] == check_id and whole in key[1] for key in known), (check_id, subject)
    assert not new - divided


def _part(subject: str) -> str:
    return subject.rpartition(" ")[2] if subject.startswith("fastener") else subject


@each_proved
def test_what_can_no_longer_be_told_is_said(name, remedy):
    before, after = verdicts(assess(DECKS[name])), verdicts(judged_anew(remedy))
    said = {(each.check_id, each.subject) for each in remedy.opens}
    opened = {
        key for key, verdict in after.items() if verdict is Verdict.CANNOT_TELL and before.get(key) is Verdict.HOLDS
    }
    assert opened == said


@each_proved
def test_the_ratio_after_is_that_of_the_deck_judged_anew(name, remedy):
    if remedy.ratio_after is None:
        return
    subject = _part(remedy.subject)
    found = [check for check in judged_anew(remedy).by_id(remedy.check_id) if check.subject.endswith(subject)]
    assert [check.ratio for check in found] == [pytest.approx(remedy.ratio_after)]


@pytest.mark.parametrize("name", NAMES)
def test_remedies_are_plain_data_and_the_same_each_time(name):
    first = json.dumps([remedy.to_dict() for remedy in FOUND[name]], allow_nan=False)
    again = json.dumps([remedy.to_dict() for remedy in remedies_for(DECKS[name], assess(DECKS[name]))], allow_nan=False)
    assert first == again
    assert len({remedy.id for remedy in FOUND[name]}) == len(FOUND[name])


@pytest.mark.parametrize("name", NAMES)
def test_every_remedy_says_what_to_buy_or_what_is_missing(name):
    for remedy in FOUND[name]:
        assert remedy.schedule or remedy.needs
        assert remedy.caution and remedy.citation and remedy.title
        assert remedy.who in ("contractor", "licensed engineer", "owner")
        assert (remedy.kind == "engineer") == (remedy.who == "licensed engineer")


def test_the_remedies_of_one_check_are_those_that_answer_it():
    deck = DECKS["raised_deck_lags_missing"]
    check = assess(deck).by_id("footing.table")[1]
    found = remedies_for(deck, check)
    assert [remedy.kind for remedy in found] == ["footing-new"]
    assert found[0].clears(check.id, check.subject)


def test_a_check_that_holds_and_one_that_a_published_rule_clears_have_no_remedy():
    assessment = assess(DECKS["sound_ledger_deck"])
    disputed = assessment.by_id("ledger.fastener_nds")[2]
    assert disputed.verdict is Verdict.FAILS
    assert remedies_for(assessment.deck, disputed) == ()
    assert remedies_for(assessment.deck, assessment.by_id("joist.bending")[0]) == ()

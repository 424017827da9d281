"""No deck that the reader accepts may end in anything but an assessment."""

import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine import Deck, assess, what_would_settle
from engine.results import Verdict
from engine.vocabulary import BASIS_FACTS, KINDS
from tests.engine.derivations import assert_every_step_comes_out

FEW = settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def plain(fact):
    if fact.kind in ("length", "number"):
        near = [value for value in (0, 0.001, 1, 1.5, 3.5, 16, 36, 120) if fact.low <= value <= fact.high]
        return st.floats(fact.low, fact.high) | st.sampled_from([fact.low, fact.high, *near])
    if fact.kind == "count":
        return st.integers(int(fact.low), int(fact.high))
    if fact.kind == "yes-no":
        return st.booleans()
    if fact.kind == "lengths":
        return st.lists(st.floats(fact.low, fact.high), min_size=1, max_size=4)
    return st.sampled_from(fact.choices)


def recorded(fact):
    one_of = st.lists(plain(fact), min_size=1, max_size=2).map(lambda values: {"one_of": values})
    return plain(fact) | plain(fact) | plain(fact) | st.just("unknown") | one_of


@st.composite
def deck_files(draw):
    file = {"format": "soundings deck 1", "basis": {}}
    for fact in BASIS_FACTS:
        if fact.required or draw(st.booleans()):
            file["basis"][fact.name] = draw(recorded(fact))
    for kind in KINDS:
        items = []
        for number in range(draw(st.integers(0, 2))):
            item = {"id": f"{kind.name}{number}"}
            for fact in kind.facts:
                if fact.kind == "reference":
                    targets = [target["id"] for target in file.get(fact.refers_to + "s", [])]
                    targets += [f"{fact.refers_to}{n}" for n in range(2)] if not targets else []
                    item[fact.name] = draw(st.sampled_from(targets))
                elif fact.required or draw(st.integers(0, 4)):
                    item[fact.name] = draw(recorded(fact))
            items.append(item)
        file[kind.plural] = items
    return file


def mended(file):
    """The file without references that lead nowhere; a part that needs one goes with it."""
    going = True
    while going:
        going = False
        ids = {item["id"] for kind in KINDS for item in file[kind.plural]}
        for kind in KINDS:
            for item in list(file[kind.plural]):
                for name in kind.references:
                    if name in item and item[name] not in ids:
                        del item[name]
                        if kind.index[name].required:
                            file[kind.plural].remove(item)
                            going = True
                            break
    for kind in ("fasteners", "posts"):
        for item in file[kind]:
            if isinstance(item.get("position_in"), (int, float)):
                item["position_in"] = 0.0  # off the ledger is a fault of the file, tested elsewhere
    return file


@FEW
@given(deck_files())
def test_any_deck_is_assessed_without_an_exception_and_its_steps_come_out(file):
    assessment = assess(Deck.from_json(json.dumps(mended(file))))
    json.dumps(assessment.to_dict(), allow_nan=False)
    what_would_settle(assessment)
    for check in assessment.checks:
        if check.verdict is Verdict.CANNOT_TELL:
            assert check.ratio is None
            assert check.reason
        elif check.steps:
            assert_every_step_comes_out(check.steps)


@FEW
@given(deck_files())
def test_naming_the_one_value_a_fact_may_have_changes_no_verdict(file):
    """Unknown among one value equals known: every plain fact is put as a set of one."""
    file = mended(file)
    known = assess(Deck.from_json(file))
    for kind in KINDS:
        for item in file[kind.plural]:
            for fact in kind.facts:
                if fact.kind != "reference" and isinstance(item.get(fact.name), (int, float, bool, list)):
                    item[fact.name] = {"one_of": [item[fact.name]]}
    assert _verdicts(assess(Deck.from_json(file))) == _verdicts(known)


def _verdicts(assessment):
    return [(check.id, check.subject.split(",")[0], check.verdict, check.ratio) for check in assessment.checks
            if ", " not in check.subject and "fastener" not in check.subject]  # fmt: skip

"""From what fails to what to do: every repair that answers a failing check, asked again and proved."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from engine.assessment import Assessment
from engine.deck import Deck, Part
from engine.errors import EngineError
from engine.remedies.asking import DECK, Asking, Key
from engine.remedies.bench import Bench, Needs, owner_of
from engine.remedies.catalogue import Repair, repairs
from engine.remedies.changes import Change
from engine.remedies.licensed import licensed
from engine.remedies.model import Answered, Draft, Remedy
from engine.results import Check, Verdict
from engine.vocabulary import Link


def remedies_for(deck: Deck, about: Check | Assessment | None = None) -> tuple[Remedy, ...]:
    """The repairs of a deck: of one failing check, or (with an assessment, or nothing) of all that fail.

    A ledger on a house band that no rule covers cannot be judged: carrying the deck at the house is its remedy.

    A calculation whose published rule holds is not repaired. Every remedy was put into the deck and the same engine
    asked again; one that makes another check fail is given only where no other of its kind does without, and says so.
    A failing check that no standard repair answers comes out as work for a licensed engineer.
    """
    bench = Bench(deck)
    wanted = (*bench.failing, *bench.open)
    if isinstance(about, Check):
        wanted = tuple(key for key in wanted if _names(bench, key) == (about.id, about.subject))
        if not wanted:
            return ()
    found = [remedy for group in _groups(bench, wanted) for remedy in group]
    cleared = {(each.check_id, each.subject) for remedy in found for each in _answered(remedy)}
    left = [key for key in wanted if key in bench.failing and _names(bench, key) not in cleared]
    return (*found, *licensed(bench, left))


def _answered(remedy: Remedy) -> tuple[Answered, ...]:
    return (*remedy.answers, *remedy.also_clears)


def _names(bench: Bench, key: Key) -> tuple[str, str]:
    check = bench.now.ask(key).check
    assert check is not None
    return check.id, check.subject


def _groups(bench: Bench, wanted: Sequence[Key]) -> Iterable[list[Remedy]]:
    """The remedies in groups that answer the same checks of the same part: alternatives of each other."""
    groups: dict[tuple[str, tuple[str, ...]], list[Remedy]] = {}
    for each in repairs():
        for owner, keys in _by_owner(bench, each):
            if not set(keys) & set(wanted):
                continue
            remedy = _worked_out(bench, each, owner, keys)
            if remedy is not None:
                groups.setdefault((owner.id, each.answers), []).append(remedy)
    for group in groups.values():
        clean = [remedy for remedy in group if not remedy.makes_worse]
        yield clean or group


def _by_owner(bench: Bench, each: Repair) -> list[tuple[Part, list[Key]]]:
    found: dict[str, list[Key]] = {}
    for key in bench.failing:
        if key.check_id in each.answers and key.part_id != DECK and _is_of(bench, key, each.of):
            owner = owner_of(bench.deck, key.part_id, each.owner)
            if owner is not None:
                found.setdefault(owner, []).append(key)
    for key in bench.open if each.settles else ():
        owner = owner_of(bench.deck, key.part_id, each.owner) if key.check_id in each.settles else None
        if owner is not None and not set(found.get(owner, ())) & set(bench.failing):
            found.setdefault(owner, []).append(key)
    return [(bench.part(owner), keys) for owner, keys in found.items()]


def _is_of(bench: Bench, key: Key, kind: str) -> bool:
    return not kind or bench.part(key.part_id).kind.name == kind


def _worked_out(bench: Bench, each: Repair, owner: Part, keys: Sequence[Key]) -> Remedy | None:
    try:
        draft = each.work(bench, owner, keys)
    except Needs as missing:
        return _waiting(bench, each, owner, keys, missing.words)
    except EngineError:  # outside what a formula or table covers: then this repair is no standard one here
        return None
    return None if draft is None else _proved(bench, draft, owner, keys)


def _waiting(bench: Bench, each: Repair, owner: Part, keys: Sequence[Key], words: str) -> Remedy:
    worst = _worst(bench.now, keys)
    return Remedy(
        id=f"{each.kind}-{owner.id}",
        kind=each.kind,
        check_id=worst.id,
        subject=worst.subject,
        title=f"{each.title}: {owner.subject}",
        answers=_about(bench.now, keys),
        schedule=(),
        drawing=(),
        change=Change(),
        deck_after=bench.deck,
        ratio_before=worst.ratio,
        ratio_after=None,
        is_proved=False,
        citation=worst.citation,
        needs=(f"record the {words}",),
    )


def _proved(bench: Bench, draft: Draft, owner: Part, keys: Sequence[Key]) -> Remedy | None:
    """The draft as a remedy, if the deck with it answers all of its checks; None if not."""
    if not draft.change.is_recordable(bench.deck):
        return None
    asked = bench.trial(draft.change)
    if draft.is_proved and not all(asked.clears(key) for key in keys):
        return None
    after = set(asked.all_keys())
    worst = _worst(bench.now, keys)
    key = next(each for each in keys if _names(bench, each) == (worst.id, worst.subject))
    now = asked.ask(key).check if key in after else None
    failed = set(bench.failing)
    answered = set(keys)
    tested = [each for each in keys if each in after and asked.ask(each).verdict is Verdict.FAILS]
    also = [
        each
        for each in bench.failing
        if each not in answered and (asked.clears(each) if each in after else not _is_about_water(bench, each))
    ]
    worse = [each for each in asked.all_keys() if asked.fails(each) and _as_before(draft, each) not in failed]
    opens = [each for each in asked.all_keys() if _is_opened(bench.now, asked, each)]
    return Remedy(
        id=f"{draft.kind}-{owner.id}",
        kind=draft.kind,
        check_id=worst.id,
        subject=worst.subject,
        title=draft.title,
        answers=_about(bench.now, keys),
        schedule=draft.schedule,
        drawing=draft.marks,
        change=draft.change,
        deck_after=asked.deck,
        ratio_before=worst.ratio,
        ratio_after=now.ratio if now is not None else None,
        is_proved=draft.is_proved,
        citation=draft.citation,
        also_clears=_about(bench.now, also),
        makes_worse=_about(asked, worse),
        opens=_about(asked, opens),
        assumptions=draft.assumptions,
        who=draft.who,
        cautions=(
            *draft.cautions,
            *_tested_words(asked, tested),
            *_worse_words(asked, worse, "then fails"),
            *_worse_words(asked, opens, "must then be judged anew"),
        ),
    )


def _is_about_water(bench: Bench, key: Key) -> bool:
    """Whether a question is about wetness or decay: a board that carries nothing any more is not dry for that."""
    return bench.now.ask(key).question.link is Link.WATER


def _as_before(draft: Draft, key: Key) -> Key:
    """The key under which the same fault stood before: a field of joists that was divided takes its faults along."""
    return replace(key, part_id=draft.inherits.get(key.part_id, key.part_id))


def _worse_words(asked: Asking, keys: Sequence[Key], words: str) -> list[str]:
    checks = [check for key in keys if (check := asked.ask(key).check) is not None]
    return [f"{check.title}, {check.subject}: {words}" for check in checks]


def _tested_words(asked: Asking, keys: Sequence[Key]) -> list[str]:
    words = dict.fromkeys(
        f"{check.title}: the calculation alone still says {check.ratio:.2f}; load tests of such joints clear it"
        for key in keys
        if (check := asked.ask(key).check) is not None and check.ratio is not None
    )
    return list(words)


def _is_opened(before: Asking, after: Asking, key: Key) -> bool:
    """Whether a check that held can no longer be told with the repair in place."""
    if after.ask(key).verdict is not Verdict.CANNOT_TELL:
        return False
    return before.has(key) and before.ask(key).verdict is Verdict.HOLDS


def _about(asked: Asking, keys: Iterable[Key]) -> tuple[Answered, ...]:
    checks = [asked.ask(key).check for key in keys]
    return tuple(Answered(check.id, check.subject) for check in checks if check is not None)


def _worst(asked: Asking, keys: Sequence[Key]) -> Check:
    checks = [check for key in keys if (check := asked.ask(key).check) is not None]
    return max(checks, key=lambda check: -1.0 if check.ratio is None else check.ratio)

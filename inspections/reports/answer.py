"""The answer in one sentence: may this deck be used, by whom or with what limit, and until when?

The inspector's most pressing word decides. A check that falls short or has no answer keeps the sentence from saying
that all is well, whatever the findings say.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from inspections.findings.models import Action
from inspections.reports.carrying import Carrying, carrying_of
from inspections.reports.digest import Digest
from inspections.reports.pieces import ReportFinding

_FIRST = "The first of the points below is due "
SHORT_LIMIT = 140  # letters of what to do that still belong into the sentence of the first page


@dataclass(frozen=True)
class Answer:
    """`action` is one of our action words; `sentence` is the answer, `also` what must be known beside it.

    `see` is the part of the report that tells more: "short" (numbers that fall short), "open", or nothing.
    `first_date` says what is due at once and which day comes first, out of the findings; empty if none has a date.
    `asks_first`: what must be found out stands before what is to be done, for no finding speaks of it.
    """

    action: str
    sentence: str
    also: str = ""
    see: str = ""
    first_date: str = ""
    asks_first: bool = False

    @property
    def label(self) -> str:
        return Action(self.action).label


def answer_of(digest: Digest) -> Answer:
    """The answer that the findings and the checks of a digest allow."""
    answer = _answer(digest)
    if answer.action == Action.FIND_OUT and not any(f.action == Action.FIND_OUT for f in digest.repairs):
        return replace(answer, asks_first=bool(digest.to_find_out))
    is_said = len(digest.repairs) == 1 and digest.repairs[0].how_soon.lower() in answer.sentence.lower()
    first_date = "" if is_said else _first_date(digest)
    return replace(answer, first_date="" if first_date.removeprefix(_FIRST) in answer.sentence else first_date)


def _first_date(digest: Digest) -> str:
    """ "Two repairs are due at once; the next by November 23, 2026." """
    at_once = sum(finding.is_due_at_once for finding in digest.repairs)
    dates = [f.due_on for f in digest.repairs if f.due_on and not f.is_due_at_once]
    first = f"by {min(dates):%B} {min(dates).day}, {min(dates).year}" if dates else ""
    if at_once:
        now = f"{_count(at_once, 'point is', 'points are')} due at once"
        return f"{now}; the next {first}." if first else f"{now}."
    return f"{_FIRST}{first}." if first else ""


def _answer(digest: Digest) -> Answer:
    by_action = {action: [f for f in digest.findings if f.action == action] for action in Action.values}
    action = next((action for action in Action.values if by_action[action]), None)
    uncovered = digest.uncovered_groups  # fifteen fasteners that fail one check are one thing to say
    open_count = len(digest.open_points) + len(digest.disputed_groups)
    path = carrying_of(digest)
    see = "short" if uncovered else "open" if open_count else ""
    if action == Action.KEEP_OFF:
        return Answer(action, _keep_off(by_action[action]), _not_cleared_by_that(uncovered, path), see)
    if action == Action.LIMIT_USE:
        return Answer(action, _limit_use(by_action[action]), _beside_the_limit(uncovered, path), see)
    if action == Action.PUT_RIGHT or uncovered:
        sentence = _put_right(by_action[Action.PUT_RIGHT], uncovered, path)
        return Answer(Action.PUT_RIGHT, sentence, _left_open(open_count), see)
    if action == Action.FIND_OUT or open_count or not path.is_checked:
        see = "open" if open_count else ""
        return Answer(Action.FIND_OUT, _find_out(by_action[Action.FIND_OUT], open_count, path), see=see)
    if action == Action.LOOK_AFTER:
        points = _count(len(by_action[action]), "point", "points")
        return Answer(action, f"Nothing was found that must be repaired now. {points} of upkeep will keep it that way.")
    return Answer(Action.SOUND, "What could be seen and measured on the day is sound.")


def _keep_off(findings: Sequence[ReportFinding]) -> str:
    # Only a stair can be closed by itself; anywhere else the careful reading is the whole deck.
    what, it = ("the stairs", "them") if all(finding.link == "way up" for finding in findings) else ("the deck", "it")
    until = "the repair that calls for it is" if len(findings) == 1 else "the repairs that call for it are"
    return f"Keep off {what}: nobody should use {it} until {until} made and checked."


def _not_cleared_by_that(uncovered: Sequence[object], path: Carrying) -> str:
    """Those repairs are not all: what else must be known before anybody goes on it again."""
    said = [_falls_short(uncovered), _unanswered(path)]
    return " ".join(
        words for words in (*said, "The repair alone does not clear the deck." if any(said) else "") if words
    )


def _limit_use(findings: Sequence[ReportFinding]) -> str:
    limits = "; ".join(_limit(finding) for finding in findings)
    return f"Use the deck only within this limit until it is repaired: {limits}."


def _limit(finding: ReportFinding) -> str:
    """The finding in one line, and what to do if that is short: one of the two says how many may go on it."""
    words = [finding.title, *([finding.remedy] if len(finding.remedy) <= SHORT_LIMIT else [])]
    return ". ".join(each.strip().rstrip(".") for each in words if each.strip())


def _beside_the_limit(uncovered: Sequence[object], path: Carrying) -> str:
    said = [_falls_short(uncovered), _unanswered(path)]
    return " ".join(words for words in (*said, "The limit does not answer these." if any(said) else "") if words)


def _put_right(findings: Sequence[ReportFinding], uncovered: Sequence[object], path: Carrying) -> str:
    if not findings:
        return f"{_falls_short(uncovered)} Have it looked into before the deck is loaded with people."
    repairs = _count(len(findings), "repair is", "repairs are")
    first = findings[0].how_soon
    first = first[0].lower() + first[1:]
    when = f"due {first}" if len(findings) == 1 else f"the first {first}"
    return f"{repairs} needed, {when}. {_until_then(uncovered, path)}"


def _until_then(uncovered: Sequence[object], path: Carrying) -> str:
    """May it be used before the repair? Only where every check of what carries it holds may a word of ease be said."""
    if path.failing:
        short = _count(path.failing, "check", "checks")
        return (
            f"{short} of what carries the deck {'falls' if path.failing == 1 else 'fall'} short of what the rules ask"
            f"{path.worst_words}: do not load it with people before it is repaired or an engineer has judged it."
        )
    also = f" {_falls_short(uncovered)}" if uncovered else ""
    if not path.is_checked:
        return f"What carries the deck could not be checked: whether it may be used until then cannot be said.{also}"
    if path.unanswered:
        return f"{_unanswered(path)} Whether the deck may be used until then cannot be said.{also}"
    if uncovered:
        return _falls_short(uncovered)
    return "What carries the deck holds in every check made, and no finding asks you to keep off it until then."


def _unanswered(path: Carrying) -> str:
    if not path.unanswered:
        return ""
    some = _count(path.unanswered, "check", "checks")
    return f"{some} of what carries the deck {'has' if path.unanswered == 1 else 'have'} no clear answer."


def _find_out(findings: Sequence[ReportFinding], open_count: int, path: Carrying) -> str:
    if not open_count and not path.is_checked:
        return "Whether this deck carries what it must cannot be said: too little of it was recorded."
    points = _count(max(len(findings), 1, open_count), "point is", "points are")
    return f"It cannot be said yet whether the deck carries all that it must. {points} to be found out first."


def _falls_short(uncovered: Sequence[object]) -> str:
    if not uncovered:
        return ""
    return f"{_count(len(uncovered), 'check falls', 'checks fall')} short of what the rules ask, beside the findings."


def _left_open(open_count: int) -> str:
    if not open_count:
        return ""
    open_questions = _count(open_count, "question has", "questions have")
    them = "it" if open_count == 1 else "each"
    return f"{open_questions} no clear answer yet; this report says what would settle {them}."


_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def _number(count: int) -> str:
    return _WORDS[count] if count < len(_WORDS) else str(count)


def _count(count: int, one: str, many: str) -> str:
    words = f"{_number(count)} {one if count == 1 else many}"
    return words[0].upper() + words[1:]

"""What a deck may carry: the uniform live load, and the push on a guard, at which the first check reaches its limit."""

from __future__ import annotations

from engine.assessment import CAUTION, Assessment
from engine.deck import Deck
from engine.errors import require_positive
from engine.guards import ALONG_NOT_JUDGED
from engine.judging import Judged
from engine.records import dataclass
from engine.results import Method, Verdict

LARGEST_LIVE_PSF = 1000.0  # beyond any deck; what still holds there is not set by the live load
_HALVINGS = 30
LEDGER_NOTE = (
    "a ledger fastener is rated by the load behind the published spacing table where that covers it, else by the NDS"
)
_TESTED, _BY_NDS = "ledger.fastener_tested", "ledger.fastener_nds"
_GUARD_CHECKS = ("guard.post_bending", "guard.pull_outward", "guard.pull_inward", "guard.push_down")


@dataclass(frozen=True)
class Rating:
    """The live load (psf) at which one part reaches its limit, and the check that sets it."""

    subject: str
    live_psf: float
    check_id: str


@dataclass(frozen=True)
class GuardRating:
    """The push (lb) at the top of a guard at which it reaches its limit, and the check that sets it."""

    subject: str
    push_lb: float
    check_id: str


@dataclass(frozen=True)
class LoadRating:
    """What the deck may carry. `live_psf` is None where nothing could be rated.

    `open_checks` could not be judged, so the rating speaks only for the rest. It says nothing about what is concealed.
    """

    live_psf: float | None
    sets: Rating | None
    by_part: tuple[Rating, ...]
    guards: tuple[GuardRating, ...]
    open_checks: tuple[str, ...]
    assumptions: tuple[str, ...] = (LEDGER_NOTE,)
    caution: str = CAUTION


def load_rating(assessment: Assessment) -> LoadRating:
    """The uniform live load (psf) at which the first calculated check reaches a ratio of 1, by part and for the deck.

    A rating of zero means that the deck's own weight is already too much for a part, by that check.
    """
    rated: dict[str, Rating] = {}
    open_checks = []
    tested = {
        each.check.subject
        for each in assessment.judged
        if each.check.id == _TESTED and each.check.verdict is not Verdict.CANNOT_TELL
    }
    for each in assessment.judged:
        if not _is_about_strength(each, tested):
            continue
        if each.check.verdict is Verdict.CANNOT_TELL:
            open_checks.append(f"{each.check.id}, {each.check.subject}")
        elif each.check.ratio is not None and "basis.live_psf" in each.reads:
            found = Rating(each.check.subject, _limit_psf(assessment.deck, each), each.check.id)
            known = rated.get(found.subject)
            if found.live_psf < LARGEST_LIVE_PSF and (known is None or found.live_psf < known.live_psf):
                rated[found.subject] = found
    by_part = tuple(rated.values())
    least = min(by_part, key=lambda each: each.live_psf, default=None)
    if least is not None:
        open_checks += _open_at(least.live_psf, assessment, tested)
    guards = _guards(assessment)
    assumptions = (LEDGER_NOTE, ALONG_NOT_JUDGED) if guards else (LEDGER_NOTE,)
    return LoadRating(least.live_psf if least else None, least, by_part, guards, tuple(open_checks), assumptions)


def _open_at(live_psf: float, assessment: Assessment, tested: set[str]) -> list[str]:
    """Checks of yes or no that hold today and would not under the rated load (a beam lifting off a post, say)."""
    heavier = assessment.deck.with_fact("basis.live_psf", live_psf)
    found = []
    for each in assessment.judged:
        if _is_about_strength(each, tested) and each.check.ratio is None and each.check.verdict is Verdict.HOLDS:
            again = each.again(heavier)
            if again is not None and again.check.verdict is not Verdict.HOLDS:
                found.append(f"{each.check.id}, {each.check.subject}, at {live_psf:.0f} psf")
    return found


def _is_about_strength(each: Judged, tested: set[str]) -> bool:
    if each.question.each == "guard":
        return False  # rated by the push, not by the live load
    if each.check.id == _TESTED:
        return True
    if each.check.id == _BY_NDS:
        return each.check.subject not in tested
    return each.question.method is Method.CALCULATION


def _limit_psf(deck: Deck, each: Judged) -> float:
    def holds(live_psf: float) -> bool:
        again = each.again(deck.with_fact("basis.live_psf", live_psf))
        return again is None or again.check.verdict is Verdict.HOLDS

    if holds(LARGEST_LIVE_PSF):
        return LARGEST_LIVE_PSF
    low, high = 0.0, LARGEST_LIVE_PSF
    if not holds(low):
        return low
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _guards(assessment: Assessment) -> tuple[GuardRating, ...]:
    """Every one of these checks grows in proportion to the push, so its limit is the push over its ratio."""
    found: dict[str, GuardRating] = {}
    for check in assessment.checks:
        if check.id in _GUARD_CHECKS and check.ratio:
            push_lb = _push_of(assessment) / check.ratio
            known = found.get(check.subject)
            if known is None or push_lb < known.push_lb:
                found[check.subject] = GuardRating(check.subject, push_lb, check.id)
    return tuple(found.values())


def _push_of(assessment: Assessment) -> float:
    for amendment in assessment.deck.basis.amendments:
        if amendment.key == "load.guard_concentrated":
            return amendment.value
    from engine.constants import model_rule

    return model_rule("load.guard_concentrated")


@dataclass(frozen=True)
class People:
    """A live load put into people, which is only as good as what was assumed about them."""

    count: int
    assumptions: tuple[str, ...]
    caution: str = CAUTION


def people(live_psf: float, area_sqft: float, person_lb: float = 200.0, moving_factor: float = 2.0) -> People:
    """How many people an evenly spread live load stands for, rounded down.

    `person_lb` and `moving_factor` (people who jump or crowd to one side count more) are assumptions, not published
    values; both are said in the result. Raises OutOfRange for a value that is not above zero.
    """
    require_positive(live_psf=live_psf, area_sqft=area_sqft, person_lb=person_lb, moving_factor=moving_factor)
    count = int(live_psf * area_sqft / (person_lb * moving_factor))
    return People(
        count,
        (
            f"{person_lb:g} lb a person, counted {moving_factor:g} times for moving and crowding (common practice, no"
            " published source)",
            f"spread evenly over {area_sqft:g} sq ft",
        ),
    )

"""What is so of a visit: its traits, read from the record. The one place that says what is counted and by what."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import cache

from django.db.models import Count
from django.utils import timezone

from engine.vocabulary import BY_NAME
from inspections.findings.models import Action, Finding
from inspections.reports.models import Report
from inspections.survey.models import Part, Reading
from inspections.trends.measured import grades_of
from inspections.trends.models import MeasuredRecord
from inspections.visits.models import Visit

TraitKey = tuple[str, str, str]  # attribute, value, word

FINISHED = (Visit.State.HANDED_IN, Visit.State.RELEASED)
UNKNOWN = "-"
ANY = "any"  # any word but Sound
URGENCY = {word: place for place, word in enumerate(Action.values)}
PRESSING = (Action.KEEP_OFF, Action.LIMIT_USE, Action.PUT_RIGHT)

# How high the walking surface stands. 30 in is where a guard must be (IRC R312.1.1); the others are common practice,
# no published source: what one reaches from the ground, and what wants a tall ladder.
HEIGHT_BANDS = (("low", 30, "Under 30 in"), ("reach", 72, "30 in to 6 ft"), ("ladder", 120, "6 to 10 ft"))
HIGHEST_BAND = ("high", "Over 10 ft")
STANDS = {"on a ledger": "attached", "free-standing": "free"}

COUNTED_HOW = {
    Reading.How.MEASURED: "measured",
    Reading.How.PAPERS: "papers",
    Reading.How.ASSUMED: "assumed",
    Reading.How.NOT_REACHABLE: "unreached",
}
SLICES = 12  # binary digits of a number that is kept of a visit: up to 4095
LONGEST_MINUTES = 600  # from arriving to handing in; beyond that the tablet lay overnight and it tells nothing


@dataclass
class Facts:
    """What the index keeps of one visit."""

    day: date
    traits: set[TraitKey] = field(default_factory=set)
    worst: str = ""
    links_seen: set[str] = field(default_factory=set)

    def add(self, attribute: str, value: object = "", word: str = "") -> None:
        self.traits.add((attribute, str(value)[:140], word))

    def add_number(self, attribute: str, number: int) -> None:
        """In binary slices: the sum over any visits is then a sum of counts, and any quantile can be found."""
        self.traits |= _slices(attribute, min(number, 2**SLICES - 1))


@cache
def _slices(attribute: str, number: int) -> frozenset[TraitKey]:
    return frozenset((attribute, str(place), "") for place in range(SLICES) if number >> place & 1)


@cache
def _noticed(link: str, slug: str | None, action: str) -> frozenset[TraitKey]:
    """What one finding says of its visit. Kept: a rebuild meets each of the few hundred kinds thousands of times."""
    of = ("defect", slug) if slug else ("own", link)
    words = (action,) if action == Action.SOUND else (action, ANY)
    return frozenset(key for word in words for key in (("word", "", word), ("link", link, word), (*of, word)))


def facts_of(visit_ids: Collection[int]) -> dict[int, Facts]:
    """The facts of those of the visits that are finished, by visit."""
    found = _whose_and_where(visit_ids)
    _add_findings(found)
    _add_readings(found)
    _add_checks(found)
    corrected = Report.objects.filter(visit__in=found, version__gt=1).values_list("visit", flat=True).distinct()
    for visit_id in corrected:
        found[visit_id].add("corrected")
    return found


def _whose_and_where(visit_ids: Collection[int]) -> dict[int, Facts]:
    found = {}
    rows = Visit.objects.filter(pk__in=visit_ids, state__in=FINISHED).values_list(
        "pk", "starts_at", "inspector", "purpose", "begun_at", "handed_in_at", "property__county", "property__town",
        "property__deck_builder", "property__deck_year_built", "property__is_near_salt_water",
        "basis__basis__is_near_salt_water",
    )  # fmt: skip
    for pk, starts_at, inspector, purpose, begun, handed_in, county, town, builder, year, is_salt, was_salt in rows:
        day = timezone.localtime(starts_at).date()
        facts = found[pk] = Facts(day)
        facts.add("month", f"{day:%Y-%m}")
        facts.add("inspector", inspector)
        facts.add("purpose", purpose)
        for attribute, text in (("county", county), ("town", town), ("builder", builder)):
            facts.add(attribute, " ".join(text.split()) or UNKNOWN)
        facts.add("decade", year // 10 * 10 if year else UNKNOWN)
        facts.add("exposure", "salt" if (is_salt if was_salt is None else was_salt) else "inland")
        minutes = round((handed_in - begun).total_seconds() / 60) if begun and handed_in else 0
        if 0 < minutes <= LONGEST_MINUTES:
            facts.add("timed")
            facts.add_number("minutes", minutes)
    return found


def _add_findings(found: dict[int, Facts]) -> None:
    rows = Finding.objects.filter(visit__in=found, removed_at__isnull=True).order_by()
    for visit_id, link, slug, action in rows.values_list("visit", "link", "defect__slug", "action"):
        facts = found[visit_id]
        facts.links_seen.add(link)
        if not facts.worst or URGENCY[action] < URGENCY[facts.worst]:
            facts.worst = action
        facts.traits |= _noticed(link, slug, action)


def _add_readings(found: dict[int, Facts]) -> None:
    standing = Reading.objects.filter(part__visit__in=found, part__removed_at__isnull=True).order_by()
    for visit_id, how, number in standing.values_list("part__visit", "how").annotate(Count("pk")):
        found[visit_id].add_number(COUNTED_HOW[how], number)
    heights: dict[int, float] = {}
    stands: dict[int, set[str]] = defaultdict(set)
    of_levels = standing.filter(part__kind="level", fact__in=("height_in", "stands"))
    for visit_id, fact, value in of_levels.values_list("part__visit", "fact", "value"):
        if fact == "stands" and isinstance(value, str) and value in STANDS:
            stands[visit_id].add(STANDS[value])
        elif fact == "height_in" and isinstance(value, (int, float)):
            heights[visit_id] = max(value, heights.get(visit_id, 0))
    for visit_id, facts in found.items():
        facts.add("height", height_band(heights[visit_id]) if visit_id in heights else UNKNOWN)
        # A deck with one level on a ledger hangs on the house, whatever its other levels do.
        facts.add("stands", min(stands[visit_id]) if stands[visit_id] else UNKNOWN)
    parts = Part.objects.filter(visit__in=found, removed_at__isnull=True).order_by()
    for visit_id, kind in parts.values_list("visit", "kind").distinct():
        found[visit_id].links_seen.add(BY_NAME[kind].link.value)


def _add_checks(found: dict[int, Facts]) -> None:
    for visit_id, checks in MeasuredRecord.objects.filter(visit__in=found).values_list("visit", "checks"):
        found[visit_id].traits.update(grades_of(checks))


def height_band(height_in: float) -> str:
    return next((key for key, below, _ in HEIGHT_BANDS if height_in < below), HIGHEST_BAND[0])


def months_between(first: str, last: str) -> Iterable[str]:
    """`2025-11`, `2025-12`, ... both ends included."""
    year, month = map(int, first.split("-"))
    while (here := f"{year:04d}-{month:02d}") <= last:
        yield here
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)

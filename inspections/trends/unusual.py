"""Entries of a record that lie far from what the firm measures elsewhere: for the release desk, which decides."""

from collections import defaultdict
from dataclasses import dataclass

from django.db import transaction

from engine.vocabulary import BY_NAME, Fact
from inspections.survey.models import Reading
from inspections.survey.typed import in_words
from inspections.survey.wording import fact_label
from inspections.trends.chance import quantile
from inspections.trends.models import UsualRange
from inspections.trends.traits import FINISHED
from inspections.visits.models import Visit

NEWEST = 60_000  # readings that are looked through
MOST_OF_A_FACT = 2_000
LEAST_OF_A_FACT = 40  # fewer do not tell what is usual (common practice, no published source)
# Times the distance of the quartiles, beyond them: "far out" in J. W. Tukey, Exploratory Data Analysis (1977), 2D.
FENCE = 3.0
NUMBERS = ("length", "number", "count")


@dataclass(frozen=True)
class Unusual:
    """A reading far from the others of its kind, in words, and the link it belongs to."""

    words: str
    link: str


@transaction.atomic
def learn_what_is_usual() -> int:
    """Work out the quartiles of every measured number anew. Returns of how many facts."""
    rows = (
        Reading.objects.filter(how=Reading.How.MEASURED, part__removed_at__isnull=True, part__visit__state__in=FINISHED)
        .order_by("-pk")
        .values_list("part__kind", "fact", "value")[:NEWEST]
    )
    values: dict[tuple[str, str], list[float]] = defaultdict(list)
    for kind, fact, value in rows.iterator():
        known = values[kind, fact]
        if isinstance(value, (int, float)) and not isinstance(value, bool) and len(known) < MOST_OF_A_FACT:
            known.append(float(value))
    UsualRange.objects.all().delete()
    learnt = []
    for (kind, fact), numbers in values.items():
        if len(numbers) >= LEAST_OF_A_FACT:
            in_order = sorted(numbers)
            quarter, middle, three_quarters = (quantile(in_order, share) for share in (0.25, 0.5, 0.75))
            learnt.append(
                UsualRange(
                    kind=kind,
                    fact=fact,
                    readings=len(numbers),
                    quarter=quarter,
                    middle=middle,
                    three_quarters=three_quarters,
                )
            )
    return len(UsualRange.objects.bulk_create(learnt))


def unusual_entries(visit: Visit) -> list[Unusual]:
    """The measured numbers of a record that lie far out, in the order of its parts."""
    usual = {(one.kind, one.fact): one for one in UsualRange.objects.all()}
    if not usual:
        return []
    readings = Reading.objects.filter(
        part__visit=visit, part__removed_at__isnull=True, how=Reading.How.MEASURED
    ).select_related("part")
    found = []
    for reading in readings.order_by("part__created_at", "part__key", "fact"):
        part, one = reading.part, usual.get((reading.part.kind, reading.fact))
        fact = BY_NAME[part.kind].index.get(reading.fact)
        if one and fact and fact.kind in NUMBERS and is_far_out(reading.value, one):
            found.append(Unusual(_in_words(part, fact, reading.value, one), str(fact.link or part.vocabulary.link)))
    return found


def is_far_out(value: object, usual: UsualRange) -> bool:
    spread = usual.three_quarters - usual.quarter
    if spread <= 0 or not isinstance(value, (int, float)):
        return False
    return not usual.quarter - FENCE * spread <= value <= usual.three_quarters + FENCE * spread


def _in_words(part, fact: Fact, value: object, usual: UsualRange) -> str:
    low, high = in_words(fact, usual.quarter), in_words(fact, usual.three_quarters)
    piece = part.kind.replace("_", " ").capitalize()
    return (
        f"{piece} {part}, {fact_label(part.kind, fact).lower()}: {in_words(fact, value)}. "
        f"Half of the firm's {usual.readings} other measures lie between {low} and {high}. Is it typed right?"
    )

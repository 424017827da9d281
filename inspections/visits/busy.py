"""Who is free when. A visit takes its inspector's time from setting out to its end."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.visits.clock import clock_words, firm_day
from inspections.visits.models import Visit
from inspections.visits.refusals import InspectorBusy

# No visit is longer, and none has a longer way, than what a form takes (validators of the model), with room to spare.
_WIDEST = timedelta(hours=24)


def inspectors_day(inspector: User, from_at: datetime, to_at: datetime) -> list[Visit]:
    """The visits of one inspector that touch the time from `from_at` to `to_at`, travel counted, in order."""
    near = (
        Visit.objects.whole()
        .filter(inspector=inspector, state__in=Visit.TAKES_TIME)
        # What the index can use is said as well: no visit starts long before it ends.
        .filter(
            starts_at__gt=from_at - _WIDEST, starts_at__lt=to_at + _WIDEST, leaves_at__lt=to_at, ends_at__gt=from_at
        )
        .order_by("starts_at", "pk")
    )
    return list(near)


@dataclass(frozen=True)
class InspectorsDay:
    inspector: User
    visits: list[Visit]


def days_of_inspectors(day: date, first: User | None = None) -> list[InspectorsDay]:
    """Everybody who inspects, with their visits of that day in order; `first` on top. Two queries."""
    (inspectors,) = inspectors_days([day])
    return sorted(inspectors, key=lambda one: one.inspector != first)


def inspectors_days(days: list[date]) -> list[list[InspectorsDay]]:
    """For each of these days, everybody who inspects with their visits in order. Two queries, however many days.

    Of a visit only what stands on such a page is read.
    """
    bounds = [firm_day(day) for day in days]
    earliest, latest = min(start for start, _ in bounds), max(end for _, end in bounds)
    people = list(User.objects.who_may(Capability.RECORD))
    visits = list(
        Visit.objects.filter(
            state__in=Visit.TAKES_TIME, starts_at__lt=latest, ends_at__gt=earliest, starts_at__gt=earliest - _WIDEST
        )
        .select_related("property")
        .only("inspector", "state", "starts_at", "ends_at", "leaves_at", "property__street", "property__town")
        .order_by("starts_at", "pk")
    )
    answer = []
    for start, end in bounds:
        of: dict[int, list[Visit]] = {one.pk: [] for one in people}
        for visit in visits:
            if visit.inspector_id in of and visit.starts_at < end and visit.ends_at > start:
                of[visit.inspector_id].append(visit)
        answer.append([InspectorsDay(one, of[one.pk]) for one in people])
    return answer


def refuse_if_busy(visit: Visit) -> None:
    """Raise InspectorBusy, in words that name the other visit, if the inspector cannot be at `visit`.

    The caller holds the lock on the inspector's row, so that nothing is booked between this look and the save.
    """
    visit.set_times()
    for other in inspectors_day(visit.inspector, visit.leaves_at, visit.ends_at):
        if other.pk != visit.pk:
            raise InspectorBusy(other, _words(visit, visit.ends_at, other))


def _words(visit: Visit, ends_at: datetime, other: Visit) -> str:
    who = visit.inspector.display_name
    there = f"{other.property.one_line}, from {clock_words(other.starts_at)} to {clock_words(other.ends_at)}"
    if visit.starts_at < other.ends_at and other.starts_at < ends_at:
        return f"{who} is at {there}."
    if other.ends_at <= visit.starts_at:
        return (
            f"{who} is at {there}. With {visit.travel_minutes} minutes of travel this visit can start at "
            f"{clock_words(other.ends_at + timedelta(minutes=visit.travel_minutes))} at the earliest."
        )
    return (
        f"{who} has to be at {there}, and sets out for it at {clock_words(other.leaves_at)} "
        f"({other.travel_minutes} minutes of travel). This visit would end at {clock_words(ends_at)}."
    )

"""When who is free next: hours, days off, other visits and the ways between the houses, all taken into account."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from firm.hours.services import Roster, read_roster
from firm.people.capabilities import Capability
from firm.people.models import User
from firm.properties.models import Property
from inspections.visits.clock import clock_words, firm_day, firm_moment
from inspections.visits.models import Visit
from inspections.visits.refusals import NoSuchTime
from inspections.visits.travel import Road

QUARTER = timedelta(minutes=15)
NOON = time(13)  # where a whole day is free, the first hour of the afternoon is offered beside the first of the day
LEAD = timedelta(minutes=30)  # nobody is sent out sooner than this
LOOK_AHEAD_DAYS = 21

# Minutes at the house by purpose, for a small deck, a middle one and a large one. Common practice, no published source.
_LENGTHS = {
    Visit.Purpose.WHOLE_DECK: (60, 90, 120),
    Visit.Purpose.BEFORE_SALE: (75, 105, 150),
    Visit.Purpose.AFTER_DAMAGE: (60, 75, 90),
    Visit.Purpose.AFTER_REPAIR: (30, 45, 60),
}
DECK_SIZES = [
    ("", "Not known"),
    ("small", "Up to 150 sq ft"),
    ("middle", "150 to 400 sq ft"),
    ("large", "Over 400 sq ft, or two levels"),
]


def proposed_minutes(purpose: str, deck_size: str = "") -> int:
    """How long a visit usually takes; that of a middle deck where the size is not known."""
    lengths = _LENGTHS.get(purpose, _LENGTHS[Visit.Purpose.WHOLE_DECK])
    return lengths[{"small": 0, "large": 2}.get(deck_size, 1)]


@dataclass(frozen=True)
class Slot:
    """A time at which the visit can be. `way` says how the travel allowance came about."""

    inspector: User
    starts_at: datetime
    length_minutes: int
    travel_minutes: int
    way: str

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.length_minutes)

    @property
    def value(self) -> str:
        """As the button of a form sends it; `read_slot` reads it."""
        local = timezone.localtime(self.starts_at)
        return f"{self.inspector.pk} {local:%Y-%m-%d %H:%M} {self.length_minutes} {self.travel_minutes}"


@dataclass
class Offer:
    """The next slots of one inspector; none if nothing is free in the days looked at."""

    inspector: User
    slots: list[Slot] = field(default_factory=list)


def read_slot(value: str) -> dict[str, str]:
    """The fields of the booking form that a slot stands for; empty if the text is not one."""
    parts = value.split()
    names = ("inspector", "day", "time", "length_minutes", "travel_minutes")
    return dict(zip(names, parts, strict=True)) if len(parts) == len(names) else {}


def next_slots(
    house: Property | None,
    length_minutes: int,
    *,
    from_day: date,
    road: Road,
    each: int = 4,
    leave_out: int | None = None,
) -> list[Offer]:
    """The next `each` slots of everybody who inspects, whoever is free first on top. Four queries.

    `leave_out` is the number of a visit whose own time counts as free.
    `house` may be None while it is not known yet, or lack coordinates: then the firm's usual gap is allowed.
    """
    people = list(User.objects.who_may(Capability.RECORD))
    last_day = from_day + timedelta(days=LOOK_AHEAD_DAYS - 1)
    roster = read_roster(people, from_day, last_day)
    taken: dict[tuple[int, date], list[Visit]] = defaultdict(list)
    visits = Visit.objects.filter(
        inspector__in=people,
        state__in=Visit.TAKES_TIME,
        starts_at__gte=firm_day(from_day)[0],
        starts_at__lt=firm_day(last_day)[1],
    )
    if leave_out:  # the visit that is moved is not in its own way
        visits = visits.exclude(pk=leave_out)
    for visit in visits.select_related("property").order_by("starts_at", "pk"):
        taken[visit.inspector_id, timezone.localtime(visit.starts_at).date()].append(visit)
    offers = []
    for person in people:
        offer = Offer(person)
        for number in range(LOOK_AHEAD_DAYS):
            if len(offer.slots) >= each:
                break
            day = from_day + timedelta(days=number)
            offer.slots += _slots_of_the_day(person, day, roster, taken[person.pk, day], house, length_minutes, road)
        del offer.slots[each:]
        offers.append(offer)
    latest = timezone.now() + timedelta(days=10_000)
    return sorted(offers, key=lambda one: one.slots[0].starts_at if one.slots else latest)


def _slots_of_the_day(
    person: User, day: date, roster: Roster, visits: Sequence[Visit], house: Property | None, length: int, road: Road
) -> Iterator[Slot]:
    hours = roster.hours(person, day)
    if hours is None or roster.day_off(person, day):
        return
    try:
        opens, closes, noon = (firm_moment(day, clock).at for clock in (*hours, NOON))
    except NoSuchTime:  # hours that begin or end in the hour that the clock skips: the office chooses by hand
        return
    opens = max(opens, timezone.now() + LEAD)
    for before, after in zip([None, *visits], [*visits, None], strict=True):
        travel, way = _way(before, house, road)
        earliest = opens
        if before:
            earliest = max(opens, before.ends_at + timedelta(minutes=travel))
        latest = closes - timedelta(minutes=length)
        if after:
            onward = max(after.travel_minutes, road.minutes(house, after.property) or 0)
            latest = min(latest, after.starts_at - timedelta(minutes=onward + length))
        first = _next_quarter(earliest)
        for starts_at in [first, noon] if first < noon else [first]:
            if first <= starts_at <= latest:
                yield Slot(person, starts_at, length, travel, way)


def _way(before: Visit | None, house: Property | None, road: Road) -> tuple[int, str]:
    if before is None:
        return road.gap_minutes, f"first of the day: {road.gap_minutes} minutes allowed for the way"
    minutes = road.minutes(before.property, house)
    if minutes is None:
        return road.gap_minutes, f"{road.gap_minutes} minutes allowed for the way: no coordinates on file"
    ends = clock_words(before.ends_at)
    return minutes, f"about {minutes} minutes from {before.property.street}, where it ends at {ends}"


def _next_quarter(moment: datetime) -> datetime:
    over = timedelta(minutes=moment.minute % 15, seconds=moment.second, microseconds=moment.microsecond)
    return moment if not over else moment - over + QUARTER

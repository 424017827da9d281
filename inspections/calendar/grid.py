"""The visits of some days, laid out: which column, from which quarter of an hour to which, side by side if need be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cache, cached_property

from django.urls import reverse
from django.utils import timezone

from firm.hours.models import TimeOff
from firm.hours.services import Roster, read_roster
from firm.people.capabilities import Capability
from firm.people.models import User
from inspections.calendar.look import DAY, Look
from inspections.visits.clock import clock_words, firm_day, firm_today
from inspections.visits.models import Visit
from inspections.visits.travel import Road

QUARTER = 15  # minutes
_STATES = dict(Visit.State.choices)
# What is shown of a visit, and what the way between two houses is reckoned from; the rest of their rows stays there.
_SHOWN = (
    "state", "starts_at", "ends_at", "leaves_at", "length_minutes", "travel_minutes", "calendar_version",
    "client__name", "property__street", "property__town", "property__latitude", "property__longitude",
    "inspector__username", "inspector__first_name", "inspector__last_name",
)  # fmt: skip
# Shown even when nothing happens then; visits and hours outside widen it.
_FIRST_HOUR, _LAST_HOUR = 7, 18


@dataclass
class Block:
    """One visit on the paper. Minutes are of the firm's clock, counted from its midnight."""

    visit: Visit
    lane: int = 1
    is_alone: bool = True  # nothing else of its column runs at the same time
    warning: str = ""

    # Worked out once and printed twice, in the grid and in the list.
    @cached_property
    def local(self) -> datetime:
        return _by_the_firms_clock(self.visit.starts_at)

    @cached_property
    def local_end(self) -> datetime:
        return _by_the_firms_clock(self.visit.ends_at)

    @cached_property
    def day(self) -> date:
        return self.local.date()

    @cached_property
    def minute(self) -> int:
        return self.local.hour * 60 + self.local.minute

    @cached_property
    def end_minute(self) -> int:
        """By the clock on the wall, which may jump on the day of the change; midnight at the latest."""
        end = self.local_end
        if end.date() > self.day:
            return 24 * 60
        return max(end.hour * 60 + end.minute, self.minute + QUARTER)

    @property
    def when(self) -> str:
        return f"{self.starts} to {_which_hour(self.local_end)}"

    @cached_property
    def can_shift(self) -> bool:
        return self.visit.state == Visit.State.BOOKED

    @property
    def address(self) -> str:
        return f"{_visits_address()}{self.visit.pk}/"

    @property
    def iso_day(self) -> str:
        return self.day.isoformat()

    @cached_property
    def starts(self) -> str:
        return _which_hour(self.local)

    @property
    def ends(self) -> str:
        return _clock(self.local_end)

    @property
    def leaves(self) -> str:
        return _clock(_by_the_firms_clock(self.visit.leaves_at))

    @cached_property
    def who(self) -> str:
        return self.visit.inspector.display_name

    @cached_property
    def how_far(self) -> str:
        """The state, where it is another than booked."""
        return "" if self.can_shift else _STATES[self.visit.state]


@dataclass
class Placed:
    """A block in the rows of a column: `at` quarters from the top, `rows` quarters high; the way there above it."""

    block: Block
    at: int
    rows: int
    way_at: int
    way_rows: int

    @property
    def classes(self) -> str:
        """The rules of `calendar_rows.css` that put it there: a page may carry no style of its own."""
        return f"at-{self.at} for-{self.rows} {self.lane_class}"

    @property
    def lane_class(self) -> str:
        return "all-lanes" if self.block.is_alone else f"lane-{self.block.lane}"


@dataclass
class Column:
    """One day, or one inspector's day, from the first hour shown to the last."""

    day: date
    inspector: User | None
    heading: str
    notes: list[str]
    blocks: list[Block]
    first_hour: int = _FIRST_HOUR

    @property
    def is_today(self) -> bool:
        return self.day == firm_today()

    @property
    def lanes(self) -> int:
        return max((block.lane for block in self.blocks), default=1)

    @cached_property
    def placed(self) -> list[Placed]:
        return [self._place(block) for block in self.blocks]

    def _place(self, block: Block) -> Placed:
        top = self.first_hour * 60
        at = (block.minute - top) // QUARTER
        rows = -(-(block.end_minute - top) // QUARTER) - at
        way_at = max(0, (block.minute - block.visit.travel_minutes - top) // QUARTER)
        return Placed(block, at, rows, way_at, at - way_at)


@dataclass
class Day:
    """One day as a list, and as a square of the month."""

    day: date
    blocks: list[Block]
    notes: list[str]
    is_in_month: bool = True

    @property
    def is_today(self) -> bool:
        return self.day == firm_today()


@dataclass
class Sheet:
    """Everything the calendar shows."""

    look: Look
    people: list[User]
    shown: list[User]
    days: list[Day]
    columns: list[Column] = field(default_factory=list)
    first_hour: int = _FIRST_HOUR
    last_hour: int = _LAST_HOUR

    @property
    def weeks(self) -> list[list[Day]]:
        return [self.days[start : start + 7] for start in range(0, len(self.days), 7)]

    @property
    def hours(self) -> list[str]:
        return [f"{hour % 12 or 12} {'AM' if hour < 12 else 'PM'}" for hour in range(self.first_hour, self.last_hour)]

    @property
    def quarters(self) -> int:
        return (self.last_hour - self.first_hour) * 4

    @property
    def visit_count(self) -> int:
        return sum(len(day.blocks) for day in self.days)


def read_sheet(look: Look, user: User, road: Road) -> Sheet:
    """The calendar as this person may see it. Five queries, however many visits there are."""
    is_own = not (user.may(Capability.BOOK) or user.may(Capability.RELEASE))
    people = [user] if is_own else list(User.objects.who_may(Capability.RECORD))
    shown = [person for person in people if not look.people or person.pk in look.people] or people
    visits = (
        Visit.objects.visible_to(user)
        .whole()
        .only(*_SHOWN)
        .filter(
            state__in=Visit.TAKES_TIME, starts_at__gte=firm_day(look.first)[0], starts_at__lt=firm_day(look.last)[1]
        )
    )
    if look.people and not is_own:
        visits = visits.filter(inspector__in=look.people)
    blocks = [Block(visit) for visit in visits.order_by("starts_at", "pk")]
    warn_of_the_way(blocks, road)
    # Somebody who no longer inspects still has a column on the days on which he or she did.
    known = {person.pk for person in shown}
    for block in blocks:
        if block.visit.inspector_id not in known:
            known.add(block.visit.inspector_id)
            shown = [*shown, block.visit.inspector]
    roster = read_roster(shown, look.first, look.last)
    days = [
        Day(day, [b for b in blocks if b.day == day], _notes(day, roster), day.month == look.day.month)
        for day in look.days
    ]
    sheet = Sheet(look, people, shown, days)
    sheet.first_hour = min([_FIRST_HOUR, *(block.minute // 60 for block in blocks)])
    sheet.last_hour = max([_LAST_HOUR, *(-(-block.end_minute // 60) for block in blocks)])
    sheet.columns = _columns(sheet, roster)
    return sheet


def _columns(sheet: Sheet, roster: Roster) -> list[Column]:
    if sheet.look.view == DAY:
        (day,) = sheet.days
        columns = [
            Column(
                day.day, person, person.display_name, [_hours_words(person, day.day, roster)],
                [block for block in day.blocks if block.visit.inspector_id == person.pk], sheet.first_hour,
            )
            for person in sheet.shown
        ]  # fmt: skip
    else:
        columns = [
            Column(day.day, None, f"{day.day:%a} {day.day.day}", day.notes, day.blocks, sheet.first_hour)
            for day in sheet.days
        ]
    for column in columns:
        side_by_side(column.blocks)
    return columns


def side_by_side(blocks: Sequence[Block]) -> None:
    """Give each block the first lane that is free when it starts, so that none lies over another."""
    ends: list[int] = []
    for block in blocks:
        others = (one for one in blocks if one is not block)
        block.is_alone = not any(one.minute < block.end_minute and block.minute < one.end_minute for one in others)
        free = next((lane for lane, end in enumerate(ends) if end <= block.minute), None)
        if free is None:
            ends.append(block.end_minute)
            block.lane = len(ends)
        else:
            ends[free] = block.end_minute
            block.lane = free + 1


def warn_of_the_way(blocks: Iterable[Block], road: Road) -> None:
    """Say at each visit whose inspector cannot be there in time, coming from the one before, that this is so."""
    last: dict[int, Block] = {}
    for block in blocks:
        visit = block.visit
        before = last.get(visit.inspector_id)
        last[visit.inspector_id] = block
        if before is None or before.day != block.day:
            continue
        there = before.visit
        left = int((visit.starts_at - there.ends_at) / timedelta(minutes=1))
        needed = road.minutes(there.property, visit.property)
        who = visit.inspector.display_name
        if left < 0:
            block.warning = f"{who} is still at {there.property.street} when this begins."
        elif left < visit.travel_minutes:
            block.warning = f"{left} minutes are left for a way of {visit.travel_minutes}."
        elif needed is not None and left < needed:
            block.warning = f"{left} minutes are left for the way from {there.property.street}: about {needed}."


@cache
def _visits_address() -> str:
    return reverse("visit-detail", args=[0]).removesuffix("0/")


def _by_the_firms_clock(moment: datetime) -> datetime:
    return moment.astimezone(timezone.get_default_timezone())


def _clock(local: datetime) -> str:
    """As `clock_words`, of a moment that is by the firm's clock already."""
    return f"{local.hour % 12 or 12}:{local.minute:02d} {'AM' if local.hour < 12 else 'PM'}"


def _which_hour(local: datetime) -> str:
    """`1:30 AM (second time)` in the hour that comes again when the clock is put back."""
    return _clock(local) + (" (second time)" if local.fold else "")


def _hours_words(person: User, day: date, roster: Roster) -> str:
    off = roster.day_off(person, day)
    if off:
        return f"Off: {off.because}"
    hours = roster.hours(person, day)
    if hours is None:
        return "No work on this weekday"
    return " to ".join(clock_words(datetime.combine(day, clock)) for clock in hours)


def _notes(day: date, roster: Roster) -> list[str]:
    start, end = firm_day(day)
    length = end - start
    clock = []
    if length < timedelta(hours=24):
        clock = ["The clock is put forward: an hour is missing in the night."]
    elif length > timedelta(hours=24):
        clock = ["The clock is put back: an hour of the night comes twice."]
    return [*clock, *(_off_words(off) for off in roster.off_on(day))]


def _off_words(off: TimeOff) -> str:
    return f"{off.person.display_name} off: {off.because}" if off.person else f"Nobody goes out: {off.because}"

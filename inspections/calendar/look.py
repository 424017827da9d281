"""What of the calendar is looked at: view, day and people, as they stand in the address."""

from dataclasses import dataclass
from datetime import date, timedelta
from urllib.parse import urlencode

from django.http import QueryDict

from inspections.visits.clock import firm_today
from inspections.visits.listing import monday_of

DAY, WEEK, MONTH = "day", "week", "month"
VIEWS = {DAY: "Day", WEEK: "Week", MONTH: "Month"}
_EARLIEST, _LATEST = date(2000, 1, 1), date(2199, 12, 31)


@dataclass(frozen=True)
class Look:
    """`people` holds the numbers of the inspectors asked for; empty means all of them."""

    view: str
    day: date
    people: tuple[int, ...] = ()

    @classmethod
    def read(cls, asked: QueryDict) -> "Look":
        """From the address; whatever cannot be read there falls back to this week and everybody."""
        view = asked.get("view", WEEK)
        try:
            day = date.fromisoformat(asked.get("day", ""))
        except ValueError:
            day = firm_today()
        people = {int(text) for text in asked.getlist("who") if text.isascii() and text.isdigit() and len(text) < 18}
        day = min(max(day, _EARLIEST), _LATEST)
        return cls(view if view in VIEWS else WEEK, day, tuple(sorted(people)))

    @property
    def first(self) -> date:
        if self.view == DAY:
            return self.day
        return monday_of(self.day if self.view == WEEK else self.day.replace(day=1))

    @property
    def last(self) -> date:
        if self.view == DAY:
            return self.day
        if self.view == WEEK:
            return self.first + timedelta(days=6)
        return monday_of(_month_after(self.day) - timedelta(days=1)) + timedelta(days=6)

    @property
    def days(self) -> list[date]:
        return [self.first + timedelta(days=number) for number in range((self.last - self.first).days + 1)]

    @property
    def before(self) -> "Look":
        return self.at(
            {DAY: self.day - timedelta(days=1), WEEK: self.day - timedelta(days=7)}.get(self.view)
            or self.day.replace(day=1) - timedelta(days=1)
        )

    @property
    def after(self) -> "Look":
        return self.at(
            {DAY: self.day + timedelta(days=1), WEEK: self.day + timedelta(days=7)}.get(self.view)
            or _month_after(self.day)
        )

    @property
    def today(self) -> "Look":
        return self.at(firm_today())

    @property
    def is_now(self) -> bool:
        return self.first <= firm_today() <= self.last

    def at(self, day: date) -> "Look":
        return Look(self.view, day, self.people)

    def seen_as(self, view: str) -> "Look":
        return Look(view, self.day, self.people)

    @property
    def address(self) -> str:
        """The query part of the address."""
        return urlencode([("view", self.view), ("day", self.day.isoformat()), *(("who", one) for one in self.people)])

    @property
    def title(self) -> str:
        if self.view == DAY:
            return f"{self.day:%A}, {self.day:%B} {self.day.day}, {self.day.year}"
        if self.view == MONTH:
            return f"{self.day:%B} {self.day.year}"
        first, last = self.first, self.last
        start = f"{first:%B} {first.day}" + (f", {first.year}" if first.year != last.year else "")
        return f"{start} to {last:%B} {last.day}, {last.year}"


def _month_after(day: date) -> date:
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)

"""Who works when: working hours by weekday, and whole days off."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time

from django.db import transaction
from django.db.models import Q

from firm import audit
from firm.hours.models import Allowances, TimeOff, WorkingHours
from firm.people.models import User

# What holds for somebody whose hours were never written down.
USUAL: dict[int, tuple[time, time]] = {weekday: (time(8), time(17)) for weekday in range(5)}
USUAL_WORDS = "Monday to Friday, 8:00 AM to 5:00 PM"

Week = dict[int, tuple[time, time]]


@dataclass(frozen=True)
class Roster:
    """Hours and days off of some people over some days, read once. Two queries."""

    weeks: dict[int, Week]
    days_off: tuple[TimeOff, ...]

    def hours(self, person: User, day: date) -> tuple[time, time] | None:
        """From when to when the person works on that day by the week's plan; None on a day without work."""
        return self.weeks.get(person.pk, USUAL).get(day.weekday())

    def day_off(self, person: User | None, day: date) -> TimeOff | None:
        """Why the person does not work on that day, or None. A holiday of the firm holds for everybody."""
        who = (None,) if person is None else (None, person.pk)
        for off in self.days_off:
            if off.person_id in who and off.first_day <= day <= off.last_day:
                return off
        return None

    def off_on(self, day: date) -> list[TimeOff]:
        return [off for off in self.days_off if off.first_day <= day <= off.last_day]


def read_roster(people: Iterable[User], first: date, last: date) -> Roster:
    """The roster of these people from `first` to `last`, both included."""
    who = [person.pk for person in people]
    weeks: dict[int, Week] = defaultdict(dict)
    for row in WorkingHours.objects.filter(person__in=who):
        weeks[row.person_id][row.weekday] = (row.starts, row.ends)
    off = TimeOff.objects.filter(Q(person=None) | Q(person__in=who), first_day__lte=last, last_day__gte=first)
    return Roster(dict(weeks), tuple(off.select_related("person")))


@transaction.atomic
def set_hours(person: User, week: Week, *, by: User | None) -> None:
    """Write down the whole week of one person; a weekday that `week` leaves out is free. An empty week: usual hours."""
    User.objects.select_for_update().get(pk=person.pk)
    before = _week_words(person)
    WorkingHours.objects.filter(person=person).delete()
    WorkingHours.objects.bulk_create(
        WorkingHours(person=person, weekday=weekday, starts=starts, ends=ends)
        for weekday, (starts, ends) in sorted(week.items())
    )
    after = _week_words(person)
    if after != before:
        audit.record(by, "changed the hours of", person, {"hours": before}, {"hours": after})


@transaction.atomic
def take_time_off(off: TimeOff, *, by: User | None) -> TimeOff:
    """Put days off on file. Visits that are booked on them stay."""
    off.save()
    after = {"who": _who(off), "first_day": off.first_day, "last_day": off.last_day, "because": off.because}
    audit.record(by, "added", off, None, after)
    return off


@transaction.atomic
def drop_time_off(off: TimeOff, *, by: User | None) -> None:
    before = {"who": _who(off), "first_day": off.first_day, "last_day": off.last_day, "because": off.because}
    audit.record(by, "removed", off, before, None)
    off.delete()


@transaction.atomic
def save_allowances(allowances: Allowances, *, by: User | None) -> Allowances:
    """Store what the office allows for, with an audit line that names only what changed."""
    names = ["detour", "gap_minutes", "country", "state"]
    stored = Allowances.current()
    before = {name: str(getattr(stored, name)) for name in names}
    allowances.pk = 1
    allowances.save()
    after = {name: str(getattr(allowances, name)) for name in names}
    changed = [name for name in names if after[name] != before[name]]
    if changed:
        was, now = ({name: values[name] for name in changed} for values in (before, after))
        audit.record(by, "changed", allowances, was, now)
    return allowances


def _who(off: TimeOff) -> str:
    return off.person.display_name if off.person else "the whole firm"


def _week_words(person: User) -> str:
    return "; ".join(str(row) for row in WorkingHours.objects.filter(person=person)) or f"usual: {USUAL_WORDS}"

"""The firm's clock: a day and an hour as people say them, as one aware moment; and back into words."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.utils import timezone

from inspections.visits.refusals import NoSuchTime


@dataclass(frozen=True)
class Moment:
    """`at` is aware; `note` says what was chosen where the hour comes twice, else it is empty."""

    at: datetime
    note: str = ""


def firm_moment(day: date, clock: time) -> Moment:
    """The moment that the firm's clock shows `clock` on `day`.

    Where the clock is put back the hour comes twice: the first is taken, and the note says so.
    Raises NoSuchTime where the clock is put forward over it.
    """
    zone = timezone.get_default_timezone()
    naive = datetime.combine(day, clock.replace(tzinfo=None))
    first = naive.replace(tzinfo=zone, fold=0)
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive:
        raise NoSuchTime(
            f"{clock_words(naive)} does not exist on {day_words(day)}: the clock is put forward over it that night. "
            "Choose a time before or after."
        )
    second = naive.replace(tzinfo=zone, fold=1)
    note = ""
    if first.utcoffset() != second.utcoffset():
        note = (
            f"{clock_words(naive)} comes twice on {day_words(day)}, because the clock is put back. "
            "The first of the two is booked."
        )
    return Moment(first.astimezone(UTC), note)


def firm_day(day: date) -> tuple[datetime, datetime]:
    """Start of the day and start of the next, as the firm's clock has them (a day of 23 or 25 hours now and then)."""
    zone = timezone.get_default_timezone()
    return (
        datetime.combine(day, time(), tzinfo=zone).astimezone(UTC),
        datetime.combine(day + timedelta(days=1), time(), tzinfo=zone).astimezone(UTC),
    )


def firm_today() -> date:
    return timezone.localdate()


def clock_words(moment: datetime) -> str:
    """`2:05 PM`, by the firm's clock."""
    local = timezone.localtime(moment) if timezone.is_aware(moment) else moment
    return f"{local.hour % 12 or 12}:{local.minute:02d} {'AM' if local.hour < 12 else 'PM'}"


def day_words(moment: date | datetime) -> str:
    """`Tuesday, March 9, 2027`, by the firm's calendar."""
    if isinstance(moment, datetime) and timezone.is_aware(moment):
        moment = timezone.localtime(moment)
    return f"{moment:%A}, {moment:%B} {moment.day}, {moment.year}"

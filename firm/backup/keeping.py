"""Which backups stay. Those asked for by hand stay until somebody removes them."""

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime
from pathlib import Path

DAILY, BEFORE_UPGRADE = "daily", "before-upgrade"
DAYS, WEEKS, MONTHS, UPGRADES = 14, 8, 24, 5
_NAME = re.compile(r"soundings-([a-z-]+)-(\d{4}-\d\d-\d\dT\d{6})Z\.tar(?:\.age)?\Z")


def remove_old(folder: Path) -> list[Path]:
    """Remove what need not be kept any longer; what was removed."""
    old = to_remove(folder.glob("soundings-*.tar*"))
    for path in old:
        path.unlink(missing_ok=True)
    return old


def to_remove(paths: Iterable[Path]) -> list[Path]:
    """Of the daily ones stay the newest of each of the last 14 days, 8 weeks and 24 months that have one; of those made
    before an upgrade the newest 5. A file whose name is not ours is left alone."""
    daily: list[tuple[datetime, Path]] = []
    upgrades: list[tuple[datetime, Path]] = []
    for path in paths:
        if match := _NAME.match(path.name):
            made = datetime.strptime(match[2], "%Y-%m-%dT%H%M%S").replace(tzinfo=UTC)
            {DAILY: daily, BEFORE_UPGRADE: upgrades}.get(match[1], []).append((made, path))
    daily.sort(reverse=True)
    upgrades.sort(reverse=True)
    stays: set[Path] = set()
    for period, how_many in ((_day, DAYS), (_week, WEEKS), (_month, MONTHS)):
        newest: dict[tuple[int, ...], Path] = {}
        for made, path in daily:
            newest.setdefault(period(made.date()), path)
        stays.update(list(newest.values())[:how_many])
    return [path for _, path in daily if path not in stays] + [path for _, path in upgrades[UPGRADES:]]


def _day(day: date) -> tuple[int, ...]:
    return day.year, day.month, day.day


def _week(day: date) -> tuple[int, ...]:
    return day.isocalendar()[:2]


def _month(day: date) -> tuple[int, ...]:
    return day.year, day.month

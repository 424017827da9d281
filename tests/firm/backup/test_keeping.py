"""Which backups stay."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from firm.backup import keeping


def daily(day):
    return Path(f"soundings-daily-{day:%Y-%m-%d}T060000Z.tar")


def test_after_three_years_there_are_fourteen_days_eight_weeks_and_two_years_of_months():
    """One is made each night and the old ones go each night; what stays in the end, counted by hand."""
    here = set()
    last = date(2026, 11, 25)  # a Wednesday
    for back in range(3 * 365, -1, -1):
        here.add(daily(last - timedelta(days=back)))
        here -= set(keeping.to_remove(here))
    days = sorted(datetime.strptime(path.name[16:26], "%Y-%m-%d").replace(tzinfo=UTC).date() for path in here)
    assert days[-14:] == [last - timedelta(days=back) for back in range(13, -1, -1)]
    sundays = [day for day in days if day < last - timedelta(days=13) and day.weekday() == 6]
    assert len(sundays) >= 5, "the last backup of each of the weeks before"
    month_ends = [day for day in days if (day + timedelta(days=1)).day == 1]
    assert len(month_ends) == 23, "the last of each month, the running month not counted"
    assert len(days) <= 14 + 8 + 24


def test_those_made_by_hand_and_files_of_others_stay():
    others = [Path("soundings-backup-2019-01-01T000000Z.tar"), Path("soundings-daily-yesterday.tar"), Path("notes.txt")]
    assert keeping.to_remove(others) == []


def test_of_those_before_upgrades_the_newest_five_stay():
    made = [Path(f"soundings-before-upgrade-2026-0{month}-01T000000Z.tar.age") for month in range(1, 8)]
    assert keeping.to_remove(made) == [made[1], made[0]]


def test_two_of_one_day_count_as_one_day():
    twice = [Path(f"soundings-daily-2026-11-25T0{hour}0000Z.tar") for hour in range(3)]
    assert keeping.to_remove(twice) == [twice[1], twice[0]]


def test_removing_touches_nothing_else_in_the_folder(tmp_path):
    for day in range(1, 29):
        (tmp_path / f"soundings-daily-2026-02-{day:02}T020000Z.tar").touch()
    (tmp_path / "notes.txt").touch()
    gone = keeping.remove_old(tmp_path)
    assert gone and not any(path.exists() for path in gone)
    assert (tmp_path / "notes.txt").exists()
    assert (tmp_path / "soundings-daily-2026-02-28T020000Z.tar").exists()

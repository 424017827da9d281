"""The figures and the rows behind them as CSV, for whoever wants to work them out again."""

import csv
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from firm.web.sheets import safe_cell
from inspections.findings.models import Finding
from inspections.trends.models import CountedVisit
from inspections.trends.traits import UNKNOWN, facts_of

SMALL_CELL = 5  # a row shared by fewer visits could tell somebody which house it is (common practice)
CHUNK = 500
SHARED = ("quarter", "county", "decade", "height", "stands", "exposure")
ROW_HEAD = ("row", *SHARED, "purpose", "inspector", "findings", "like_rows", "small_cell")


class _Echo:
    def write(self, line: str) -> str:
        return line


def _lines(rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    writer = csv.writer(_Echo())
    for row in rows:
        yield writer.writerow([cell if cell == UNKNOWN else safe_cell(cell) for cell in row])


def figures_csv(name: str, numbers: dict[str, Any]) -> Iterator[str]:
    return _lines(_FIGURES[name](numbers))


def _recurring(numbers: dict[str, Any]) -> Iterator[Sequence[Any]]:
    yield ("table", "row", "visits", "of", "share", "low_95", "high_95", "drawn_to_common_share")
    for table in ("links", "words", "defects", "groups"):
        for row in numbers.get(table, ()):
            share = row.share
            drawn = f"{row.drawn.value:.6f}" if row.drawn else ""
            yield (
                table,
                row.label,
                share.count,
                share.of,
                *(f"{x:.6f}" for x in (share.share, share.low, share.high)),
                drawn,
            )


def _changing(numbers: dict[str, Any]) -> Iterator[Sequence[Any]]:
    yield ("defect", "from", "to", "visits", "of", "q_two_periods", "q_trend", "z_trend")
    for row in numbers.get("changes", ()):
        for period, share in ((numbers["now"], row.now), (numbers["before"], row.before)):
            yield (row.label, period.first, period.last, share.count, share.of, f"{row.q:.6g}", "", "")
    for course in numbers["courses"]:
        for period, share, _ in course.quarters:
            count, of = (share.count, share.of) if share else (0, 0)
            yield (course.label, period.first, period.last, count, of, "", f"{course.q:.6g}", f"{course.z:.4f}")


def _together(numbers: dict[str, Any]) -> Iterator[Sequence[Any]]:
    yield (
        "one",
        "other",
        "visits_with_both",
        "with_one",
        "with_other",
        "visits",
        "lift",
        "low_95",
        "high_95",
        "odds_ratio",
        "q",
    )
    for pair in numbers["pairs"]:
        lift = pair.lift
        yield (
            pair.one, pair.other, pair.both, pair.with_one, pair.with_other, numbers["visit_count"],
            *(f"{x:.4f}" for x in (lift.value, lift.low, lift.high, pair.odds.value)), f"{pair.q:.6g}",
        )  # fmt: skip


def _repairing(numbers: dict[str, Any]) -> Iterator[Sequence[Any]]:
    yield ("days", "still_watched", "seen_repaired", "share_not_yet", "low_95", "high_95")
    for point in numbers["curve"]:
        yield (point.at, point.watched, point.happened, *(f"{x:.6f}" for x in (point.share, point.low, point.high)))


def _measuring(numbers: dict[str, Any]) -> Iterator[Sequence[Any]]:
    yield ("measure_or_group", "bar", "visits", "falls_short")
    for chart in (numbers["whole"], *numbers["panels"], *numbers["beside"]):
        for bar in chart.bars:
            yield (chart.title, bar.label, bar.count, "yes" if bar.is_short else "no")
        yield (chart.title, "cannot be told", chart.not_told, "")


def _judging(numbers: dict[str, Any]) -> Iterator[Sequence[Any]]:
    yield ("inspector", "word", "visits", "of", "expected_on_like_decks", "ratio", "low_95", "high_95", "q")
    for usage in numbers["usages"]:
        told = usage.told
        ratio = (
            [f"{x:.4f}" for x in (told.ratio.value, told.ratio.low, told.ratio.high)] if told.ratio else ["", "", ""]
        )
        yield (usage.name, usage.action, told.count, told.of, f"{told.expected:.2f}", *ratio, f"{usage.q:.6g}")


_FIGURES = {
    "trends": _recurring,
    "trends-changed": _changing,
    "trends-together": _together,
    "trends-repaired": _repairing,
    "trends-measured": _measuring,
    "trends-alike": _judging,
}


def rows_csv(positions: Sequence[int]) -> Iterator[str]:
    """One line a visit: no name, no address, no day; the quarter, the kind of deck, the findings.

    `like_rows` is how many of these rows share quarter, county and kind of deck; where that is fewer than five,
    `small_cell` says so, and the row should not be handed on. Inspectors are letters, given in the order of their first
    row, so that they cannot be told from their number.
    """
    return _lines(_anonymous_rows(positions))


def _anonymous_rows(positions: Sequence[int]) -> Iterator[Sequence[Any]]:
    kinds: list[tuple[str, ...]] = []
    rest: list[tuple[str, str, int]] = []
    for start in range(0, len(positions), CHUNK):
        wanted = positions[start : start + CHUNK]
        counted = CountedVisit.objects.filter(position__in=wanted).order_by("position")
        facts = facts_of([row.pk for row in counted])
        for row in counted:
            one = facts.get(row.pk)
            if one is None:
                continue
            told = {attribute: value for attribute, value, word in one.traits if not word}
            told["quarter"] = f"{row.day.year}-Q{(row.day.month + 2) // 3}"
            kinds.append(tuple(told[name] for name in SHARED))
            rest.append((told["purpose"], told["inspector"], row.pk))
    alike = Counter(kinds)
    letters: dict[str, str] = {}
    yield ROW_HEAD
    for start in range(0, len(rest), CHUNK):
        findings = _findings([visit_id for *_, visit_id in rest[start : start + CHUNK]])
        for place in range(start, min(start + CHUNK, len(rest))):
            purpose, inspector, visit_id = rest[place]
            letter = letters.setdefault(inspector, _letter(len(letters)))
            like = alike[kinds[place]]
            small = "yes" if like < SMALL_CELL else "no"
            yield (place + 1, *kinds[place], purpose, letter, findings.get(visit_id, ""), like, small)


def _findings(visit_ids: Sequence[int]) -> dict[int, str]:
    """`guard-too-low:put_right; own words at water:look_after` for each visit."""
    found: dict[int, list[str]] = {}
    rows = Finding.objects.filter(visit__in=visit_ids, removed_at__isnull=True).order_by("link", "created_at", "pk")
    for visit_id, link, slug, action in rows.values_list("visit", "link", "defect__slug", "action"):
        found.setdefault(visit_id, []).append(f"{slug or f'own words at {link}'}:{action}")
    return {visit_id: "; ".join(parts) for visit_id, parts in found.items()}


def _letter(number: int) -> str:
    return f"inspector {chr(ord('A') + number % 26)}{number // 26 or ''}"

"""What recurs: in how many of the visits a link or a defect was noticed. The database counts; here it gets its words.

A visit counts once, however many findings of the same kind it has: three rotten posts at one house are one house.
"""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F

from engine.vocabulary import Link
from firm.people.models import User
from inspections.findings.models import Action
from inspections.trends.choices import TrendForm
from inspections.trends.intervals import Share, wilson_share

MOST_TOWNS = 20


@dataclass(frozen=True)
class Row:
    label: str
    share: Share
    query: str
    note: str = ""


@dataclass(frozen=True)
class Judge:
    """One inspector's visits, and in how many of them each action word was used."""

    name: str
    visit_count: int
    words: list[tuple[str, Share]]


def count_by_link(form: TrendForm, visit_count: int) -> list[Row]:
    """Every link of the load path in its order, also those at which nothing was noticed."""
    counted = dict(form.findings().order_by().values_list("link").annotate(Count("visit", distinct=True)))
    return [
        Row(link.value.capitalize(), share, form.query(link=link.value))
        for link in Link
        if (share := wilson_share(counted.get(link.value, 0), visit_count))
    ]


def count_by_defect(form: TrendForm, visit_count: int) -> list[Row]:
    """Entries of the catalogue, most frequent first; what was written in own words stands together at the end."""
    counted = (
        form.findings()
        .order_by()
        .values(slug=F("defect__slug"), defect_title=F("defect__title"), at_link=F("defect__link"))
        .annotate(visits_with_it=Count("visit", distinct=True))
        .order_by("-visits_with_it", "defect_title")
    )
    rows, own_words = [], []
    for one in counted:
        share = wilson_share(one["visits_with_it"], visit_count)
        if one["slug"]:
            rows.append(
                Row(one["defect_title"], share, form.query(defect=one["slug"]), note=one["at_link"].capitalize())
            )
        else:
            own_words.append(Row("In the inspector's own words", share, form.query(is_own_words="on")))
    return rows + own_words


def count_by_decade(form: TrendForm) -> list[Row]:
    """Decks by the decade they were built in, oldest first, unknown age last: each a share of its own visits."""
    rows: dict[int, tuple[int, int]] = {}
    for year, (noticed, of) in _by_property(form, "deck_year_built"):
        decade = year // 10 * 10 if year else 0
        already = rows.get(decade, (0, 0))
        rows[decade] = (already[0] + noticed, already[1] + of)
    in_order = sorted(rows, key=lambda decade: decade or 9999)
    words = {decade: f"{decade} to {decade + 9}" if decade else "Not known" for decade in rows}
    return [Row(words[decade], wilson_share(*rows[decade]), form.query(decade=decade)) for decade in in_order]


def count_by_town(form: TrendForm) -> list[Row]:
    """Towns with the most visits first."""
    counted = sorted(_by_property(form, "town"), key=lambda one: (-one[1][1], one[0]))
    return [Row(town, wilson_share(*share), form.query(town=town)) for town, share in counted[:MOST_TOWNS]]


def _by_property(form: TrendForm, name: str) -> list[tuple[Any, tuple[int, int]]]:
    """For each value of a property's field: visits with a finding that is counted, and all visits."""
    field = f"property__{name}"
    visits = form.visits().order_by().values_list(field).annotate(Count("pk")).order_by(field)
    noticed = form.findings().order_by().values_list(f"visit__{field}").annotate(Count("visit", distinct=True))
    counts = dict(noticed)
    return [(value, (counts.get(value, 0), of)) for value, of in visits]


def count_by_inspector(form: TrendForm) -> list[Judge]:
    """Whether inspectors judge alike: for each, in what share of the visits each action word was used."""
    visits = dict(form.visits().order_by().values_list("inspector").annotate(Count("pk")))
    used = form.findings().order_by().values_list("visit__inspector", "action").annotate(Count("visit", distinct=True))
    by_both = {(inspector, action): count for inspector, action, count in used}
    shown = [action for action in Action if any(action == key[1] for key in by_both)]
    return [
        Judge(
            one.display_name,
            visits[one.pk],
            [(action.value, wilson_share(by_both.get((one.pk, action.value), 0), visits[one.pk])) for action in shown],
        )
        for one in User.objects.filter(pk__in=visits)
    ]

"""What recurs: in how many of the visits a link or a defect was noticed. A visit counts once, however many findings of
the same kind it has: three rotten posts at one house are one house.
"""

from dataclasses import dataclass
from typing import Any

from engine.vocabulary import Link
from inspections.findings.models import Action
from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.chance import Estimate, Prior, Share, fit_prior, wilson_share
from inspections.trends.choices import IN_ORDER, TrendForm, ordered, own_words

MOST_GROUPS = 30  # of a cut that are shown; the others are counted and named as left out


@dataclass(frozen=True)
class Row:
    """A share and the address of the visits behind it. `drawn` is the share in the light of the other rows."""

    label: str
    share: Share
    query: str
    note: str = ""
    action: str = ""
    drawn: Estimate | None = None
    every_query: str = ""  # of all the visits that the share is of, where they are not those of the whole page


def wants(form: TrendForm) -> list[Want]:
    return [*form.wants(), *(Want(one, form.word) for one in ("link", "defect", "own")), Want(form.cut_by)]


def recurring(form: TrendForm, bitmaps: Bitmaps) -> dict[str, Any]:
    """What the page of rates shows."""
    base = form.base(bitmaps)
    visit_count = base.bit_count()
    context: dict[str, Any] = {"visit_count": visit_count, "period": period_of(bitmaps, base)}
    if visit_count:
        context |= {
            "links": links(form, bitmaps, base),
            "words": words(form, bitmaps, base),
            "defects": defects(form, bitmaps, base),
            **set_apart(form, bitmaps, base),
        }
    return context


def period_of(bitmaps: Bitmaps, base: int) -> tuple[str, str] | None:
    """The first and the last month in which there is such a visit, as `2026-03`."""
    months = sorted(month for month, bits in bitmaps.values("month").items() if bits & base)
    return (months[0], months[-1]) if months else None


def links(form: TrendForm, bitmaps: Bitmaps, base: int) -> list[Row]:
    """Every link of the load path in its order, also those at which nothing was noticed."""
    noticed = bitmaps.values("link", form.word)
    return [
        Row(link.value.capitalize(), _share(noticed.get(link.value, 0), base), _narrow(form, link=link.value))
        for link in Link
    ]


def words(form: TrendForm, bitmaps: Bitmaps, base: int) -> list[Row]:
    """In how many visits each action word was used of what was chosen, the most pressing first."""
    subject = form.subject
    return [
        Row(
            action.label,
            _share(bitmaps.of(subject.attribute, subject.value, action.value), base),
            form.query(action=action.value),
            action=action.value,
        )
        for action in Action
    ]


def defects(form: TrendForm, bitmaps: Bitmaps, base: int) -> list[Row]:
    """Entries of the catalogue, most frequent first; what was written in own words stands together at the end."""
    link = form.asked.get("link")
    rows = [
        Row(
            form.titles.get(slug, slug),
            _share(bits, base),
            _narrow(form, defect=slug),
            note=form.link_of.get(slug, "").capitalize(),
        )
        for slug, bits in bitmaps.values("defect", form.word).items()
        if not link or form.link_of.get(slug) == link
    ]
    own = [
        Row(own_words(place), _share(bits, base), _narrow(form, own=place))
        for place, bits in bitmaps.values("own", form.word).items()
        if not link or place == link
    ]
    return [row for part in (rows, own) for row in sorted(part, key=_most_frequent_first) if row.share.count]


def set_apart(form: TrendForm, bitmaps: Bitmaps, base: int) -> dict[str, Any]:
    """The same share for each county, builder, decade ..., each drawn towards what they have in common."""
    name, subject = form.cut_by, form.subject
    noticed = bitmaps.of(subject.attribute, subject.value, form.word)
    groups = {value: bits & base for value, bits in bitmaps.values(name).items() if bits & base}
    counts = {value: ((bits & noticed).bit_count(), bits.bit_count()) for value, bits in groups.items()}
    prior = fit_prior(list(counts.values()))
    shown = ordered(name, counts) if name in IN_ORDER else _surest_first(counts, prior)
    return {
        "groups": [
            Row(
                form.value_words(name, value),
                wilson_share(*counts[value]),
                form.query(**{name: value}),
                drawn=prior.shrunk(*counts[value]),
                every_query=form.query(**{name: value}, every="on"),
            )
            for value in shown[:MOST_GROUPS]
        ],
        "left_out": max(0, len(shown) - MOST_GROUPS),
        "prior": prior,
    }


def _surest_first(counts: dict[str, tuple[int, int]], prior: Prior) -> list[str]:
    """By the share that a group has at the least, in the light of all: three visits do not beat three hundred."""
    if len(counts) > 2 * MOST_GROUPS:  # working out every interval would take longer than reading them

        def roughly(value: str) -> float:
            count, of = counts[value]
            mean = (prior.alpha + count) / (prior.weight + of)
            return mean - 2 * (mean * (1 - mean) / (prior.weight + of)) ** 0.5

        kept = sorted(counts, key=roughly, reverse=True)
        front, rest = kept[: 2 * MOST_GROUPS], kept[2 * MOST_GROUPS :]
    else:
        front, rest = list(counts), []
    least = {value: prior.shrunk(*counts[value]).low for value in front}
    return sorted(front, key=lambda value: (-least[value], value)) + rest


def _share(bits: int, base: int) -> Share:
    return wilson_share((bits & base).bit_count(), base.bit_count())


def _most_frequent_first(row: Row) -> tuple[int, str]:
    return -row.share.count, row.label


def _narrow(form: TrendForm, **subject: str) -> str:
    """The address of the visits with another subject: a defect takes the place of a link."""
    return form.query(**{"link": "", "defect": "", "own": "", **subject})

"""What the trends are asked for: everything in the address, so that a page of numbers can be sent to a colleague."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property, reduce
from operator import or_
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from firm.people.models import User
from firm.web.forms import NoColon
from inspections.findings.models import LINKS, Action, Defect
from inspections.trends.bitmaps import Bitmaps, Want
from inspections.trends.measured import LENGTHS, TOLD, grade_words, is_among, title_of
from inspections.trends.models import Trait
from inspections.trends.traits import ANY, HEIGHT_BANDS, HIGHEST_BAND, UNKNOWN
from inspections.visits.clock import firm_today
from inspections.visits.forms import DayInput
from inspections.visits.listing import plausible_day
from inspections.visits.models import Visit

# How visits are cut, in the order in which the page offers it.
CUTS = {
    "decade": "Year built",
    "county": "County",
    "town": "Town",
    "builder": "Who built it",
    "height": "Height",
    "stands": "How it stands",
    "exposure": "Exposure",
    "purpose": "Why we came",
    "inspector": "Inspector",
}
IN_ORDER = {"decade", "height"}  # shown from low to high instead of ranked
_FIXED_WORDS = {
    "height": {key: words for key, _, words in HEIGHT_BANDS} | dict([HIGHEST_BAND]),
    "stands": {"attached": "On a ledger", "free": "Free-standing"},
    "exposure": {"salt": "Near salt water", "inland": "Inland"},
    "purpose": dict(Visit.Purpose.choices),
}
_ORDER = {"height": [key for key, _, _ in HEIGHT_BANDS] + [HIGHEST_BAND[0]]}
# Traits that are simply so, in words.
SINGLE = {"corrected": "Corrected after release", "timed": "From arriving to handing in within ten hours"}
MOST_DAYS = 99_999


@dataclass(frozen=True)
class Subject:
    """Which findings are counted: the attribute and value of their trait, and what they are called."""

    attribute: str
    value: str
    words: str


class ManyOptions(forms.Select):
    """A select drawn without a template for each option: with hundreds of builders that would be most of the page."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        chosen = str(value or "")
        options = format_html_join(
            "",
            '<option value="{}"{}>{}</option>',
            ((key, mark_safe(" selected") if str(key) == chosen else "", words) for key, words in self.choices),
        )
        return format_html("<select{}>{}</select>", flatatt({**self.attrs, **(attrs or {}), "name": name}), options)


class TrendForm(NoColon, forms.Form):
    """The choices that every page of the trends has."""

    from_day = forms.DateField(label="Visits from", required=False, widget=DayInput())
    to_day = forms.DateField(label="to", required=False, widget=DayInput())
    action = forms.ChoiceField(label="Action word", required=False, choices=[("", "All but Sound"), *Action.choices])
    link = forms.ChoiceField(label="Link", required=False, choices=[("", "Every link"), *LINKS])
    defect = forms.CharField(label="Defect", required=False, max_length=60)
    own = forms.ChoiceField(required=False, choices=[("", ""), *LINKS], widget=forms.HiddenInput)
    cut = forms.ChoiceField(label="Set apart by", required=False, choices=list(CUTS.items()))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = _known_values()
        for name, label in CUTS.items():
            choices = [("", "Any"), *((value, self.value_words(name, value)) for value in self.known[name])]
            self.fields[name] = forms.CharField(
                label=label, required=False, max_length=140, widget=ManyOptions(choices=choices)
            )
        defects = [(slug, title) for slug, title in self.titles.items() if slug in self.known["defect"]]
        self.fields["defect"].widget = ManyOptions(choices=[("", "Every defect"), *defects])

    def clean_from_day(self) -> date | None:
        return plausible_day(self.cleaned_data["from_day"])

    def clean_to_day(self) -> date | None:
        return plausible_day(self.cleaned_data["to_day"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if (start := cleaned.get("from_day")) and (end := cleaned.get("to_day")) and end < start:
            self.add_error("to_day", "The last day lies before the first.")
        return cleaned

    # --- what was asked for ---------------------------------------------------------------------------------------

    @cached_property
    def asked(self) -> Mapping[str, Any]:
        """The choices that could be read; one that could not is left out, and its error is shown."""
        self.is_valid()
        return self.cleaned_data

    @property
    def cut_by(self) -> str:
        return self.asked.get("cut") or next(iter(CUTS))

    @property
    def word(self) -> str:
        return self.asked.get("action") or ANY

    @property
    def subject(self) -> Subject:
        if slug := self.asked.get("defect"):
            return Subject("defect", slug, self.titles.get(slug, slug))
        if link := self.asked.get("own"):
            return Subject("own", link, own_words(link))
        if link := self.asked.get("link"):
            return Subject("link", link, f"{link.capitalize()}, any finding")
        return Subject("word", "", "Any finding")

    def wants(self) -> list[Want]:
        """The traits that the choices themselves need."""
        wanted = [Want(name, value=value) for name in CUTS if (value := self.asked.get(name))]
        return [*wanted, Want(self.subject.attribute, value=self.subject.value)]

    def base(self, bitmaps: Bitmaps, *, of_anybody: bool = False) -> int:
        """The visits that are counted: those of the period that have every trait that was chosen.

        `of_anybody`: whoever inspected them, for setting an inspector beside the others.
        """
        period = bitmaps.period(self.asked.get("from_day"), self.asked.get("to_day"))
        return period & self.base_without_period(bitmaps, of_anybody=of_anybody)

    def base_without_period(self, bitmaps: Bitmaps, *, of_anybody: bool = False) -> int:
        found = bitmaps.everybody
        for name in CUTS:
            if name == "inspector" and of_anybody:
                continue
            if value := self.asked.get(name):
                found &= bitmaps.of(name, value)
        return found

    def query(self, **more: object) -> str:
        """The choices as a query string, with `more` put in; what is empty is left out."""
        together = {**self._kept, **more}
        return urlencode({name: value for name, value in together.items() if value not in (None, "")})

    @cached_property
    def _kept(self) -> dict[str, Any]:
        """What was chosen, as it was sent."""
        return {name: value for name in self.fields if (value := self[name].value()) not in (None, "")}

    @property
    def every_query(self) -> str:
        """The address of all the visits that are counted."""
        return self.query(every="on")

    @property
    def cut_fields(self) -> list[Any]:
        return [self[name] for name in CUTS]

    @property
    def cut_words(self) -> str:
        return CUTS[self.cut_by]

    @property
    def cut_has_order(self) -> bool:
        return self.cut_by in IN_ORDER

    @property
    def action_words(self) -> str:
        return Action(self.asked["action"]).label if self.asked.get("action") else ""

    @property
    def narrowed(self) -> list[tuple[str, str]]:
        """The cuts that were chosen, in words: (County, Sele)."""
        return [
            (label, self.value_words(name, value)) for name, label in CUTS.items() if (value := self.asked.get(name))
        ]

    # --- words ----------------------------------------------------------------------------------------------------

    @cached_property
    def titles(self) -> dict[str, str]:
        return dict(Defect.objects.order_by("title").values_list("slug", "title"))

    @cached_property
    def link_of(self) -> dict[str, str]:
        return dict(Defect.objects.values_list("slug", "link"))

    @cached_property
    def people(self) -> dict[str, str]:
        return {str(one.pk): one.display_name for one in User.objects.filter(pk__in=self.known["inspector"])}

    def value_words(self, name: str, value: str) -> str:
        if value == UNKNOWN:
            return "Not known"
        if name == "decade":
            return f"{value} to {int(value) + 9}" if value.isdigit() else value
        if name == "inspector":
            return self.people.get(value, value)
        return _FIXED_WORDS.get(name, {}).get(value, value)


class BehindForm(TrendForm):
    """The same choices, and the one figure whose visits are asked for."""

    also = forms.CharField(required=False, max_length=60)  # a second defect of the same visit
    check = forms.CharField(required=False, max_length=80)
    grade = forms.CharField(required=False, max_length=16)
    single = forms.ChoiceField(required=False, choices=[("", ""), *((name, name) for name in SINGLE)])
    twice = forms.CharField(required=False, max_length=30)  # the words of two inspectors at one deck: first.second
    repaired_by = forms.IntegerField(required=False, min_value=0, max_value=MOST_DAYS)  # days after it was found
    like = forms.BooleanField(required=False)  # an inspector's visits to decks of a kind that others saw too
    still_watched = forms.BooleanField(required=False)
    gone_back = forms.ChoiceField(required=False, choices=[("", ""), ("yes", "yes"), ("no", "no")])  # after a finding
    every = forms.BooleanField(required=False)  # all visits that are counted, with a finding or not

    def wants(self) -> list[Want]:
        asked, wanted = self.asked, super().wants()
        if asked.get("also"):
            wanted.append(Want("defect", self.word, asked["also"]))
        if asked.get("check"):
            wanted.append(Want(asked["check"]) if asked["check"] in LENGTHS else Want("check", value=asked["check"]))
        return [*wanted, *(Want(asked[name]) for name in ("single",) if asked.get(name))]

    def behind(self, bitmaps: Bitmaps, base: int) -> int:
        """The visits behind the figure, among those of the page."""
        asked, found = self.asked, base
        if asked.get("single"):
            return found & bitmaps.of(asked["single"])
        if asked.get("check"):
            return found & self._graded(bitmaps)
        if asked.get("also"):
            found &= bitmaps.of("defect", asked["also"], self.word)
        return (
            found if asked.get("every") else found & bitmaps.of(self.subject.attribute, self.subject.value, self.word)
        )

    @property
    def figure_words(self) -> str:
        """What the visits on the list have in common, as a heading."""
        asked = self.asked
        if twice := asked.get("twice"):
            first, _, second = twice.partition(".")
            known = dict(Action.choices)
            if not twice.strip("."):
                return "Decks that two of us saw"
            if twice == "same":
                return "Seen by two, who chose the same word"
            return f"Seen by two: first {known.get(first, '?')}, then {known.get(second, '?')}"
        if gone_back := asked.get("gone_back"):
            return f"{self.subject.words}: {'looked at again' if gone_back == 'yes' else 'not looked at again'} by us"
        if asked.get("still_watched"):
            return f"{self.subject.words}: not seen repaired when last looked at"
        if (days := asked.get("repaired_by")) is not None:
            when = f" within {days} days" if days < MOST_DAYS else ""
            return f"{self.subject.words}: seen repaired{when}"
        if asked.get("single"):
            return SINGLE[asked["single"]]
        if check := asked.get("check"):
            words = grade_words(check, asked.get("grade") or TOLD)
            return f"{title_of(check)}: {words}" if words else title_of(check)
        if also := asked.get("also"):
            return f"{self.subject.words}, together with: {self.titles.get(also, also)}"
        return "Every visit counted" if asked.get("every") else self.subject.words

    def choices_query(self) -> str:
        """The choices of the page that the figure stands on, without the figure itself."""
        kept = {name: self[name].value() for name in TrendForm.base_fields | dict.fromkeys(CUTS)}
        return urlencode({name: value for name, value in kept.items() if value not in (None, "")})

    def _graded(self, bitmaps: Bitmaps) -> int:
        check, grade = self.asked["check"], self.asked.get("grade")
        of_check = bitmaps.words(check) if check in LENGTHS else bitmaps.words("check", check)
        return reduce(or_, (bits for known, bits in of_check.items() if is_among(check, known, grade or "")), 0)


def own_words(link: str) -> str:
    return f"{link.capitalize()}, in the inspector's own words"


def ordered(name: str, values: Any) -> list[str]:
    """From low to high where the cut has an order; unknown last."""
    order = _ORDER.get(name)
    return sorted(
        values, key=lambda value: (value == UNKNOWN, order.index(value) if order and value in order else 0, value)
    )


def _known_values() -> dict[str, list[str]]:
    """The values that the index knows for every cut, and the defects it knows."""
    found: dict[str, list[str]] = {name: [] for name in (*CUTS, "defect")}
    rows = Trait.objects.filter(attribute__in=found).order_by().values_list("attribute", "value").distinct()
    for attribute, value in rows:
        found[attribute].append(value)
    return {name: ordered(name, values) for name, values in found.items()}


@dataclass(frozen=True)
class Preset:
    label: str
    query: str
    is_chosen: bool


def presets(form: TrendForm) -> list[Preset]:
    """Periods that one asks for again and again, as addresses that keep the other choices."""
    today = firm_today()
    january = today.replace(month=1, day=1)
    last_december = january - timedelta(days=1)
    periods = [
        ("All visits", "", ""),
        ("Last 90 days", today - timedelta(days=90), ""),
        ("This year", january, ""),
        ("Last year", last_december.replace(month=1, day=1), last_december),
    ]
    chosen = (form["from_day"].value() or "", form["to_day"].value() or "")
    return [
        Preset(label, form.query(from_day=start, to_day=end), (str(start), str(end)) == chosen)
        for label, start, end in periods
    ]

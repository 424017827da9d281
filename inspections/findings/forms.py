from collections.abc import Iterator
from itertools import groupby
from typing import Any

from django import forms

from engine.vocabulary import KINDS
from inspections.findings.models import Action, Defect, Finding
from inspections.findings.services import NEEDS_HOW_SOON, HowSoonIsMissing
from inspections.findings.words import ACTION_MEANING
from inspections.photos.forms import PhotosField
from inspections.survey.models import Part

_FROM_CATALOGUE = ("title", "meaning", "remedy")


class FindingForm(forms.ModelForm):
    """A finding of one visit. With a catalogue entry chosen, what is left empty is filled in from it on saving."""

    photos = PhotosField(label="Photos of it", required=False)

    class Meta:
        model = Finding
        fields = [
            "link", "defect", "title", "place", "part", "seen", "action", "how_soon", "who", "meaning", "remedy",
            "check_id",
        ]  # fmt: skip
        widgets = {
            "check_id": forms.HiddenInput,
            "action": forms.RadioSelect,
            "how_soon": forms.RadioSelect,
            "who": forms.RadioSelect,
            "seen": forms.Textarea(attrs={"rows": 3}),
            "meaning": forms.Textarea(attrs={"rows": 4}),
            "remedy": forms.Textarea(attrs={"rows": 4}),
        }
        labels = {
            "link": "Where on the load path",
            "defect": "From the catalogue",
            "title": "In one line",
            "place": "Where exactly",
            "part": "Which part",
            "seen": "What was seen or measured",
            "meaning": "What it means, for the owner",
            "remedy": "What to do",
            "action": "Action",
            "how_soon": "How soon",
            "who": "Who must do it",
        }
        help_texts = {
            "place": "As on the drawing: third tread, left end. Several places: fastener 7; fastener 12; fastener 15.",
            "remedy": "What, where, how many, which fastener, in what pattern. For Find out: what would settle it.",
        }

    def __init__(self, *args: Any, link: str = "", **kwargs: Any) -> None:
        """`link` is where one stands on the walk: the choices are then those of this link."""
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.fields["title"].required = False
        self.fields["defect"].queryset = Defect.objects.filter(is_offered=True) | Defect.objects.filter(
            pk=self.instance.defect_id
        )
        self.fields["defect"].choices = [
            ("", "Not from the catalogue"),
            *_by_link(self.fields["defect"].queryset, link),
        ]
        parts = Part.objects.filter(visit=self.instance.visit, removed_at__isnull=True)
        self.fields["part"].queryset = parts
        self.fields["part"].choices = [("", "No single part"), *_parts_to_choose(parts, link)]
        self.fields["link"].choices = [choice for choice in self.fields["link"].choices if choice[0]]
        for name in ("action", "how_soon", "who"):
            self.fields[name].choices = [choice for choice in self.fields[name].choices if choice[0]]

    @property
    def chosen_defect(self) -> Defect | None:
        """The catalogue entry that is chosen in the form as it stands, saved or not."""
        value = str(self["defect"].value() or "")
        return self.fields["defect"].queryset.filter(pk=value).first() if value.isdecimal() else None

    @property
    def action_choices(self) -> Iterator[tuple[Any, str]]:
        """Each radio button with the line that says what its word means."""
        for button in self["action"]:
            yield button, ACTION_MEANING[Action(button.data["value"])]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if not cleaned.get("title") and not cleaned.get("defect") and "title" not in self.errors:
            self.add_error("title", "Say it in one line, or choose it from the catalogue.")
        if cleaned.get("action") in NEEDS_HOW_SOON and cleaned.get("how_soon") == Finding.HowSoon.NO_DATE:
            self.add_error("how_soon", str(HowSoonIsMissing()))
        return cleaned


def fill_from_catalogue(data: Any, choices: Any) -> Any:
    """The posted form with the words of the chosen entry put in, wherever nothing of the inspector's own stands.

    Text that another entry put in before, and that was left as it was, gives way. `data` is a QueryDict.
    """
    filled = data.copy()
    pk = data.get("defect", "")
    defect = choices.filter(pk=pk).first() if pk.isdecimal() else None
    if defect is None:
        return filled
    for name in _FROM_CATALOGUE:
        text = data.get(name, "").strip()
        if not text or Defect.objects.filter(**{name: text.replace("\r\n", "\n")}).exists():
            filled[name] = getattr(defect, name)
    if not data.get("action"):
        filled["action"] = defect.action
    return filled


class DefectForm(forms.ModelForm):
    """An entry of the catalogue."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    class Meta:
        model = Defect
        fields = ["link", "title", "meaning", "remedy", "citation", "action", "is_offered"]
        labels = {
            "link": "Where on the load path",
            "title": "In one line",
            "citation": "Published rule",
            "is_offered": "Offered to inspectors",
        }
        help_texts = {
            "citation": "The clause, or “common practice, no published source”. Printed beside the finding.",
            "is_offered": "Take the tick away instead of deleting: findings that used it keep it.",
        }
        widgets = {
            "meaning": forms.Textarea(attrs={"rows": 5}),
            "remedy": forms.Textarea(attrs={"rows": 5}),
        }


def _by_link(defects, link: str) -> list[tuple[str, list[tuple[int, str]]]]:
    """Groups for a select: the link one stands at first, then the others."""
    rows = sorted(defects, key=lambda defect: (defect.link != link, defect.link, defect.title))
    return [
        (name, [(defect.pk, defect.title) for defect in group])
        for name, group in groupby(rows, key=lambda defect: defect.get_link_display())
    ]


def _parts_to_choose(parts, link: str) -> list[tuple[Any, str]]:
    kinds = {kind.name for kind in KINDS if kind.link == link}
    here = [part for part in parts if part.kind in kinds]
    return [(part.pk, _part_words(part)) for part in (here or parts)]


def _part_words(part: Part) -> str:
    kind = part.get_kind_display()
    return f"{kind} {part.key} ({part.name})" if part.name else f"{kind} {part.key}"

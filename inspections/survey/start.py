"""The first minute at an empty record: say what stands there, and the usual parts are in the record to be measured."""

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction

from engine.vocabulary import BY_NAME
from inspections.survey.models import Part
from inspections.survey.services import add_part
from inspections.survey.typed import Unreadable, read
from inspections.visits.models import Visit


class LengthField(forms.CharField):
    """A length as on a tape, within the range of one of the engine's facts. Keeps what was typed."""

    def __init__(self, kind: str, fact_name: str, **more) -> None:
        super().__init__(required=False, max_length=40, **more)
        self.fact = BY_NAME[kind].index[fact_name]
        self.widget.attrs.update(
            {"inputmode": "decimal", "data-keypad": "length", "data-label": self.label, "autocomplete": "off"}
        )

    def clean(self, value):
        typed = super().clean(value)
        if typed:
            try:
                read(self.fact, typed)
            except Unreadable as error:
                raise ValidationError(error.reason) from error
        return typed


class StartForm(forms.Form):
    stands = forms.ChoiceField(
        label="How does it stand at the house?",
        choices=[("on a ledger", "Fastened to the house"), ("free-standing", "Free-standing")],
        widget=forms.RadioSelect,
        initial="on a ledger",
    )
    levels = forms.IntegerField(label="Levels", min_value=1, max_value=4, initial=1, help_text="Walking surfaces.")
    width = LengthField("level", "width_in", label="Width along the house", help_text="Open if not measured yet.")
    depth = LengthField("level", "depth_in", label="Depth from the house")
    height = LengthField("level", "height_in", label="Height above the ground", help_text="At the highest edge.")
    posts = forms.IntegerField(
        label="Posts under each beam", min_value=0, max_value=20, initial=3, help_text="Each gets a footing, too."
    )
    has_stairs = forms.BooleanField(label="There are stairs", required=False, initial=True)
    has_guards = forms.BooleanField(label="There are guards", required=False, initial=True)


@transaction.atomic
def set_up_deck(visit: Visit, answers: dict, *, by) -> list[Part]:
    """Put the usual parts of such a deck into the record. `answers` is the cleaned StartForm.

    Nothing is taken for measured but what was typed: the parts stand there with all else open. Size, height and depth
    belong to the first level. Raises RecordClosed, NotYours, Unreadable.
    """
    made: list[Part] = []

    def add(kind: str, name: str = "", **readings: str) -> str:
        made.append(add_part(visit, kind, by=by, name=name, readings=readings))
        return made[-1].key

    for number in range(answers["levels"]):
        size = {f"{name}_in": answers[name] for name in ("width", "depth", "height")} if number == 0 else {}
        level = add("level", "main level" if number == 0 else "", stands=answers["stands"], **size)
        joists = {"level": level}
        if answers["stands"] == "on a ledger":
            joists["ledger"] = add("ledger", level=level)
        else:
            joists["inner_beam"] = _beam(add, answers, level, "inner beam")
        joists["beam"] = _beam(add, answers, level, "outer beam")
        add("joist_field", **joists)
        if answers["has_guards"]:
            for side in ("front", "left", "right"):
                add("guard", side, level=level, is_present="yes")
        if answers["has_stairs"] and number == 0:
            add("stair", level=level)
    return made


def _beam(add, answers: dict, level: str, name: str) -> str:
    beam = add("beam", name, level=level)
    for _ in range(answers["posts"]):
        post = add("post", beam=beam)
        add("footing", post=post)
    return beam

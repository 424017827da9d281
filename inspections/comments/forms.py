"""The form of a comment: what it is about, chosen among the things at one place, and the words."""

from typing import Any
from uuid import UUID, uuid4

from django import forms

from firm.web.forms import NoColon
from inspections.findings.models import Finding
from inspections.photos.models import Photo
from inspections.survey.models import Part
from inspections.survey.typed import in_words
from inspections.survey.wording import KIND_WORDS, fact_label
from inspections.visits.models import Visit

RECORD = "record"


class CommentForm(NoColon, forms.Form):
    about = forms.ChoiceField(label="About")
    text = forms.CharField(
        label="Comment",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3, "autofocus": True}),
        error_messages={"required": "Write what is to be looked at."},
    )
    at = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)
    id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, data: Any, *, visit: Visit, at: str, **kwargs: Any) -> None:
        super().__init__(data, initial={"at": at, "id": uuid4()}, auto_id=f"comment-{at or RECORD}-%s", **kwargs)
        self.at = at or RECORD
        self.things = things_at(visit, at)
        self.fields["about"].choices = [(value, words) for value, (words, _) in self.things.items()]
        if len(self.things) == 1:
            self.fields["about"].widget = forms.HiddenInput()
            self.initial["about"] = next(iter(self.things))

    @property
    def where(self) -> str:
        return next(iter(self.things.values()))[0]

    @property
    def subject(self) -> dict[str, Any]:
        return self.things[self.cleaned_data["about"]][1]


class AnswerForm(forms.Form):
    text = forms.CharField(required=False, max_length=2000)
    becomes = forms.ChoiceField(choices=[("answered", ""), ("done", ""), ("open", "")])


class NoSuchThing(LookupError):
    """The record holds nothing of that name."""


def things_at(visit: Visit, at: str) -> dict[str, tuple[str, dict[str, Any]]]:
    """What may be commented on at a place: value -> words and the fields of the comment. The place itself comes first.

    `at` is "finding-<id>", "photo-<id>", "part-<id>" or nothing for the whole record. Raises NoSuchThing.
    """
    if at in ("", RECORD):
        return {RECORD: ("The whole record", {})}
    kind, _, key = at.partition("-")
    model = {"finding": Finding, "photo": Photo, "part": Part}.get(kind)
    try:
        thing = model and model._default_manager.get(pk=UUID(key), visit=visit, removed_at=None)
    except (ValueError, model.DoesNotExist) as missing:
        raise NoSuchThing from missing
    if thing is None:
        raise NoSuchThing
    if kind == "photo":
        return {at: (_photo_words(thing), {"photo": thing})}
    if kind == "part":
        piece = f"{KIND_WORDS[thing.kind][0].capitalize()} {thing.key}"
        return {at: (piece, {"part": thing})} | {
            f"{at}.{reading.fact}": (_reading_words(thing, reading), {"part": thing, "fact": reading.fact})
            for reading in thing.readings.all()
            if reading.fact in thing.vocabulary.index
        }
    photos = thing.photos.filter(removed_at=None)
    return {at: (f"Finding, {thing.title}", {"finding": thing})} | {
        f"photo-{photo.pk}": (_photo_words(photo), {"photo": photo}) for photo in photos
    }


def _photo_words(photo: Photo) -> str:
    return f"Photo, {photo.caption or 'not described'}"


def _reading_words(part: Part, reading: Any) -> str:
    fact = part.vocabulary.index[reading.fact]
    value = "not reachable" if reading.value is None else in_words(fact, reading.value)
    return f"{fact_label(part.kind, fact)}: {value}"

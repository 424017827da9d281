from typing import Any

from django import forms

from inspections.photos.models import Photo

# Named one by one and not image/*: some phones then hand over a JPEG in place of a kind that cannot be read here.
ACCEPTED = "image/jpeg,image/heic,image/heif,image/png,image/webp"


class PhotosInput(forms.FileInput):
    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Any number of files. What is in them is judged by `take_in_photo`, one by one: a bad file spoils no other."""

    widget = PhotosInput(attrs={"accept": ACCEPTED})

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        return [file for file in (data if isinstance(data, list | tuple) else [data]) if file]


class CaptionForm(forms.ModelForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    class Meta:
        model = Photo
        fields = ["caption"]
        labels = {"caption": "What it shows"}
        help_texts = {"caption": "Printed under the photo: where it is and what to look at."}

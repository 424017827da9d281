"""What all forms of ours share."""

import hashlib
from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.models import ModelChoiceIterator
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString


class NoColon:
    """A form whose labels stand above their fields, where a colon says nothing."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)


class KnowsWhatStood(forms.ModelForm):
    """A form that puts nothing over what somebody else saved after it was opened, unless told so a second time.

    The row must be held while the form is asked whether it is valid and saved (`select_for_update`).
    """

    seen = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    _stands = ""  # nothing yet: the row is new

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self._stands = self._mark()
            self.initial.setdefault("seen", self._stands)

    def _mark(self) -> str:
        told = [(name, str(self.instance.serializable_value(name))) for name in self._meta.fields]
        return hashlib.sha256(repr(told).encode()).hexdigest()[:32]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if self._stands and cleaned.get("seen") and cleaned["seen"] != self._stands:
            self.data = self.data.copy()
            self.data[self.add_prefix("seen")] = self._stands
            raise ValidationError(
                f"Somebody changed {self.instance} after you opened this form. Below stands what you typed: open the "
                "page anew to see what is on file, or save once more to put yours in its place."
            )
        return cleaned


class LongSelect(forms.Select):
    """A choice among many, as the people of a firm are: Django draws each option from two templates, this from none."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        widget = self.get_context(name, value, attrs)["widget"]
        options = (
            (str(option["value"]), flatatt(option["attrs"]), option["label"])
            for group, choices, _ in widget["optgroups"]
            for option in choices
        )
        return format_html(
            '<select name="{}"{}>{}</select>',
            widget["name"],
            flatatt(widget["attrs"]),
            format_html_join("\n", '<option value="{}"{}>{}</option>', options),
        )


class _AtOnce(ModelChoiceIterator):
    """The rows read in one query: Django opens a cursor on the server and reads them from it by pieces."""

    def __iter__(self) -> Iterator[tuple[Any, str]]:
        if self.field.empty_label is not None:
            yield "", self.field.empty_label
        for row in self.queryset:
            yield self.choice(row)


class LongChoice(forms.ModelChoiceField):
    """One of many rows, as people of a firm are; what it costs a page to offer them is kept small."""

    widget = LongSelect
    iterator = _AtOnce

"""What all forms of ours share."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.forms.models import ModelChoiceIterator
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString


class NoColon:
    """A form whose labels stand above their fields, where a colon says nothing."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)


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

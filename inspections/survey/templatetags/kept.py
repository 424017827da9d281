"""Fields and verdicts that were drawn before are not drawn again.

A link of the walk shows up to a hundred fields and as many verdicts, of which one changes between two looks. Each
piece is kept under everything that it shows; one whose key is new is drawn by the very template that a swap uses.
"""

from collections import OrderedDict
from typing import Any

from django import template
from django.template.loader import get_template
from django.utils.safestring import SafeString, mark_safe

from inspections.survey.sheets import Entry
from inspections.survey.verdicts import Alike, Witnessed

register = template.Library()

_MOST = 8000  # pieces of two or three kilobytes, the last shown stay: what a hundred inspectors write at
_kept: OrderedDict[object, tuple[object, SafeString]] = OrderedDict()


@register.simple_tag(takes_context=True)
def fact_field(context: template.Context, entry: Entry) -> SafeString:
    """The field of one fact (`_fact.html`). One with a message, or just saved, is drawn each time."""
    if entry.error or entry.has_clash or entry.saved:
        return _draw("inspections/survey/_fact.html", context, entry=entry)
    reading = entry.reading
    story = (reading.at, reading.how, reading.typed, str(reading.value), reading.by.display_name) if reading else None
    options = tuple((one.value, one.words) for one in entry.options)
    key = (
        entry.part.pk, entry.name, context["visit"].pk, context["stop"].slug, entry.text, entry.how, story, options,
        tuple(entry.wanted_by),
    )  # fmt: skip
    return _keep(key, None, lambda: _draw("inspections/survey/_fact.html", context, entry=entry))


@register.simple_tag(takes_context=True)
def check_verdict(context: template.Context, alike: Alike, is_failing: bool) -> SafeString:
    """One question with its verdict (`_check.html`).

    The engine's checks are the same objects as long as the record does not change; they are kept with the piece, so
    that their identity stays theirs.
    """
    key = (
        context["visit"].pk, context["stop"].slug, bool(context.get("may_write")), is_failing,
        tuple(_identity(one) for one in alike.answers),
    )  # fmt: skip
    return _keep(
        key, alike, lambda: _draw("inspections/survey/_check.html", context, alike=alike, is_failing=is_failing)
    )


def _identity(one: Witnessed) -> tuple[object, ...]:
    return id(one.check), tuple(map(id, one.twins)), one.has_finding, one.assumed, one.why_apart, one.is_disputed


def _keep(key: object, belongs: object, draw: Any) -> SafeString:
    found = _kept.get(key)
    if found is None:
        found = (belongs, draw())
    # Put in anew, and so as the last: another thread may have thrown it out meanwhile.
    _kept[key] = found
    _kept.move_to_end(key)
    if len(_kept) > _MOST:
        _kept.popitem(last=False)
    return found[1]


def _draw(name: str, context: template.Context, **more: object) -> SafeString:
    return mark_safe(get_template(name).template.render(context.new({**context.flatten(), **more})))

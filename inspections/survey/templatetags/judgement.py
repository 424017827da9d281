"""Tags for whatever is judged: the load gauge, the action word, a value in its unit."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from engine.units import format_feet_inches, format_inches
from inspections.drawings.gauge import load_gauge, percent
from inspections.findings.models import Action
from inspections.spanish import said
from inspections.survey import rule_words
from inspections.survey.wording import plainly, quantity

register = template.Library()

# Small drawings that tell the words apart without colour.
_GLYPHS = {
    "keep_off": '<path d="M2 8h12M4 3l8 10M12 3L4 13" fill="none" stroke="currentColor" stroke-width="2"/>',
    "limit_use": '<path d="M2 3v10M14 3v10M5 8h6" fill="none" stroke="currentColor" stroke-width="2"/>',
    "put_right": '<path d="M3 13L10 6M8 2l6 6-3 1-4-4z" fill="none" stroke="currentColor" stroke-width="2"/>',
    "find_out": '<circle cx="7" cy="7" r="4.5" fill="none" stroke="currentColor" stroke-width="2"/>'
    '<path d="M10.5 10.5L14.5 14.5" stroke="currentColor" stroke-width="2"/>',
    "look_after": '<path d="M8 1.5c3 4 4.5 6 4.5 8.2a4.5 4.5 0 0 1-9 0C3.5 7.500 5 5.500 8 1.500z" fill="none" '
    'stroke="currentColor" stroke-width="1.6"/>',
    "sound": '<path d="M2.500 8.500l4 4 7-9" fill="none" stroke="currentColor" stroke-width="2"/>',
}


@register.filter
def rules_in_words(texts: list[str]) -> list[str]:
    """Texts that may name a published value by its key, with the rule's own sentence in its place."""
    return [rule_words.in_words(text) for text in texts]


@register.simple_tag
def gauge(ratio: float | None, label: str) -> SafeString:
    """The load gauge of a check: `{% gauge check.ratio check.title %}`."""
    return mark_safe(load_gauge(ratio, said(label), said=said))


@register.simple_tag
def word(action: str) -> SafeString:
    """One of our action words in its frame: `{% word finding.action %}`."""
    return format_html(
        '<span class="word word-{}"><svg viewBox="0 0 16 16" aria-hidden="true">{}</svg>{}</span>',
        action,
        mark_safe(_GLYPHS[action]),
        said(Action(action).label),
    )


@register.filter
def as_percent(ratio: float) -> str:
    return percent(ratio)


@register.filter
def inches(value_in: float) -> str:
    return format_inches(value_in)


@register.filter
def feet_inches(value_in: float) -> str:
    return format_feet_inches(value_in)


register.filter(quantity)
register.filter(plainly)

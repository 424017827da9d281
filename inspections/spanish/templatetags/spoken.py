"""`{{ text|said }}`: what a record says, in the language of the page."""

from django import template
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString

from inspections.spanish import in_spanish, is_spanish, said

register = template.Library()


@register.filter(name="said")
def said_or_marked(text: str) -> str | SafeString:
    """In Spanish if there are words for it; else as written, marked as English for whoever has it read aloud."""
    text = str(text or "")
    if not text or not is_spanish():
        return text
    spanish = in_spanish(text)
    if spanish is not None:
        return spanish
    if not any(sign.isalpha() for sign in text):
        return text
    return format_html('<span lang="en">{}</span>', text)


@register.filter
def said_plain(text: str) -> str:
    """The same for an attribute, where no markup can stand."""
    return conditional_escape(said(str(text or "")))


@register.filter
def as_written(text: str) -> str | SafeString:
    """Somebody's own words: paragraphs in the language they were written in."""
    from django.template.defaultfilters import linebreaks

    written = str(text or "")
    if is_spanish() and (spanish := in_spanish(written)):
        return linebreaks(spanish)
    return linebreaks(written) if not is_spanish() else format_html('<div lang="en">{}</div>', linebreaks(written))

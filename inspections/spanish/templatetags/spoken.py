"""`{{ text|said }}`: what a record says, in the language of the page."""

from django import template
from django.utils.html import format_html, linebreaks
from django.utils.safestring import SafeString, mark_safe

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
    return said(str(text or ""))


@register.filter
def if_english(text: str) -> SafeString:
    """` lang="en"` for an element whose attribute says in English, on a Spanish page, what there are no words for."""
    text = str(text or "")
    return mark_safe(' lang="en"' if is_spanish() and text and in_spanish(text) is None else "")


@register.filter
def as_written(text: str) -> SafeString:
    """Somebody's own words as paragraphs: in Spanish if they are ours after all, else in the language they have."""
    written = str(text or "")
    spanish = in_spanish(written) if is_spanish() else None
    paragraphs = mark_safe(linebreaks(spanish or written, autoescape=True))
    return format_html('<div lang="en">{}</div>', paragraphs) if is_spanish() and spanish is None else paragraphs

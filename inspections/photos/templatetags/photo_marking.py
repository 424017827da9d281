"""`{% marks_over photo.marks weight=3 with_words=False %}`: what is drawn on a photo, to stand right behind its img."""

from typing import Any

from django import template
from django.utils.safestring import SafeString, mark_safe

from inspections.drawings.marks import marks_svg, marks_words
from inspections.spanish import said

register = template.Library()


@register.simple_tag
def marks_over(drawn: dict[str, Any], weight: float = 1.0, with_words: bool = True, fit: str = "cover") -> SafeString:
    return mark_safe(marks_svg(drawn, weight=weight, with_words=with_words, fit=fit, said=said))


@register.filter
def told(drawn: dict[str, Any]) -> str:
    return marks_words(drawn, said=said)

"""Tags of the printed report: the narrow gauge, a photo with its marks."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from inspections.drawings.gauge import load_gauge
from inspections.drawings.marks import marks_svg
from inspections.reports.pieces import ReportPhoto
from inspections.spanish import said

register = template.Library()


@register.simple_tag
def print_gauge(ratio: float | None, label: str) -> SafeString:
    """The load gauge with letters that can be read in a column of print."""
    return mark_safe(load_gauge(ratio, label, narrow=True, said=said))


@register.simple_tag
def print_photo(photo: ReportPhoto) -> SafeString:
    """A photo and over it what is drawn on it, which says itself in words."""
    return format_html(
        '<div class="marked"><img src="{}" alt="{}">{}</div>',
        photo.print_source,
        photo.words,
        mark_safe(marks_svg(photo.marks, weight=1.8, fit="contain")),
    )

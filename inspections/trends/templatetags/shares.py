"""A share as a bar with its interval, and in words."""

from django import template
from django.utils.safestring import SafeString, mark_safe

from inspections.trends.intervals import Share

register = template.Library()


@register.filter
def share_bar(share: Share) -> SafeString:
    """A bar from 0 to 100 %, the 95 % interval as a line under it. Not read out: the number stands beside it."""
    width, low, high = (round(100 * value, 2) for value in (share.share, share.low, share.high))
    return mark_safe(
        '<svg class="share-bar" viewBox="0 0 100 20" preserveAspectRatio="none" aria-hidden="true">'
        '<rect x="0" y="1" width="100" height="10" fill="#e4ded1"/>'
        f'<rect x="0" y="1" width="{width}" height="10" fill="#1b4b5a"/>'
        f'<path d="M{low} 16H{high}M{low} 13V19M{high} 13V19" stroke="#16242c" stroke-width="1.5" '
        'vector-effect="non-scaling-stroke"/></svg>'
    )


@register.filter
def share_words(share: Share) -> str:
    """`38 %`, whole percent; below one percent but not none reads "under 1 %"."""
    if 0 < share.share < 0.01:
        return "under 1 %"
    if 0.99 < share.share < 1:
        return "over 99 %"
    return f"{share.share * 100:.0f} %"


@register.filter
def interval_words(share: Share) -> str:
    """`21 to 59 %`."""
    return f"{share.low * 100:.0f} to {share.high * 100:.0f} %"

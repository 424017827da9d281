"""The visits of the calendar as HTML.

A page has hundreds of them, each twice: in the grid and in the list below it. Drawn here in one go they take a quarter
of the time that a template takes tag by tag. Whatever comes from a row goes through `escape`.
"""

from html import escape

from django import template
from django.utils.safestring import SafeString, mark_safe

from inspections.calendar.grid import Block, Column, Day

register = template.Library()


@register.simple_tag
def blocks_of_column(column: Column, may_shift: bool) -> SafeString:
    """The visits of a day or of an inspector, each with the way there above it."""
    drawn = []
    for one in column.placed:
        if one.way_rows > 0:
            place = f"at-{one.way_at} for-{one.way_rows} {one.lane_class}"
            drawn.append(f'<span class="way {place}" aria-hidden="true"></span>')
        drawn.append(_block(one.block, one.classes, may_shift, show_end=True, show_client=column.inspector is not None))
    return mark_safe("\n".join(drawn))


@register.simple_tag
def blocks_of_square(day: Day, may_shift: bool) -> SafeString:
    """The visits of a square of the month."""
    return mark_safe("\n".join(_block(block, "", may_shift, show_end=False, show_client=False) for block in day.blocks))


@register.simple_tag
def rows_of_day(day: Day) -> SafeString:
    """The same visits as a list."""
    return mark_safe("\n".join(_row(block) for block in day.blocks))


def _block(block: Block, classes: str, may_shift: bool, *, show_end: bool, show_client: bool) -> str:
    """One visit that can be taken hold of."""
    visit, house, can_shift = block.visit, block.visit.property, may_shift and block.can_shift
    clash = " has-clash" if block.warning else ""
    hold = end = more = ""
    if can_shift:
        hold = (
            f' data-visit="{visit.pk}" data-version="{visit.calendar_version}" data-day="{block.iso_day}"'
            f' data-minute="{block.minute}" data-length="{visit.length_minutes}" data-inspector="{visit.inspector_id}"'
            f' data-who="{escape(block.who)}" data-place="{escape(house.street)}" aria-describedby="shift-help"'
        )
    if show_end:
        end = f'<span class="until"> to {block.ends}</span>'
    if block.how_far:
        more = f'<span class="how-far">{escape(block.how_far)}</span>'
    elif may_shift and show_end:
        more = '<span class="edge" aria-hidden="true"></span>'
    if block.warning:
        more += f'<span class="clash">{escape(block.warning)}</span>'
    return (
        f'<a class="block {classes} is-{visit.state}{clash}{" can-shift" if can_shift else ""}"{hold}'
        f' id="visit-{visit.pk}" draggable="false" href="{block.address}">'
        f'<span class="when">{block.starts}{end}</span>'
        f'<span class="where">{escape(house.street)}<span class="town">, {escape(house.town)}</span></span>'
        f'<span class="who">{escape(visit.client.name if show_client else block.who)}</span>{more}</a>'
    )


def _row(block: Block) -> str:
    visit, house = block.visit, block.visit.property
    how_far = f" · {escape(block.how_far.lower())}" if block.how_far else ""
    clash = f'<span class="clash">{escape(block.warning)}</span>' if block.warning else ""
    return (
        f'<li><a href="{block.address}"><span class="when">{block.when}</span>'
        f'<span class="where">{escape(house.street)}, {escape(house.town)}</span>'
        f'<span class="soft small">{escape(block.who)} · {escape(visit.client.name)}'
        f" · sets out at {block.leaves}{how_far}</span>{clash}</a></li>"
    )

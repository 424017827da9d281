"""`{% comments_on visit "part" part.pk %}`: the comments of one place (see `showing`), with the way to answer them;
`write=True` adds the way to a new one for the desk. `{% open_comments visit %}` lists what is not done yet.
"""

from typing import Any

from django import template

from inspections.comments import showing
from inspections.visits.models import Visit

register = template.Library()


@register.inclusion_tag("inspections/comments/_at.html", takes_context=True)
def comments_on(
    context: dict[str, Any], visit: Visit, kind: str, key: Any = "", *, write: bool = False
) -> dict[str, Any]:
    request = context.get("request")
    return {**showing.place(request, visit, kind, str(key), write=write), "csrf_token": context.get("csrf_token")}


@register.inclusion_tag("inspections/comments/_open.html", takes_context=True)
def open_comments(context: dict[str, Any], visit: Visit, *, at_desk: bool = False, before: str = "") -> dict[str, Any]:
    found = showing.comments_for(context.get("request"), visit)
    return {
        "visit": visit,
        "open": [one for one in found if one.is_open],
        "done": [] if before else [one for one in found if not one.is_open],
        "at_desk": at_desk,
    }


@register.inclusion_tag("inspections/comments/_recorded.html", takes_context=True)
def recorded_parts(context: dict[str, Any], visit: Visit) -> dict[str, Any]:
    """All that was recorded, part by part, with the comments and the way to a new one."""
    found = showing.comments_for(context.get("request"), visit)
    return {
        "visit": visit,
        "stops": [
            (title, parts, sum(1 for one in found if one.part_id in {each.part.pk for each in parts}))
            for title, parts in showing.recorded(visit)
        ],
        "request": context.get("request"),
        "csrf_token": context.get("csrf_token"),
    }

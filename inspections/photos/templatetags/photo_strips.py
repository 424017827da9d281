"""`{% photos_of_link visit link may_record %}`: photos of one link that belong to no finding, and the form for more."""

from typing import Any

from django import template

from inspections.photos.models import Photo
from inspections.visits.models import Visit

register = template.Library()


@register.inclusion_tag("inspections/photos/_strip.html", takes_context=True)
def photos_of_link(context: dict[str, Any], visit: Visit, link: str, may_record: bool) -> dict[str, Any]:
    return {
        "visit": visit,
        "photos": Photo.objects.standing().filter(visit=visit, finding=None, link=link),
        "may_record": may_record,
        "finding": None,
        "link": link,
        "here": context["request"].get_full_path(),
        "csrf_token": context.get("csrf_token"),
    }

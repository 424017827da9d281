"""`{% unusual_entries visit as entries %}`: what a record holds that lies far from the firm's own measures."""

from django import template

from inspections.trends.unusual import Unusual
from inspections.trends.unusual import unusual_entries as find
from inspections.visits.models import Visit

register = template.Library()


@register.simple_tag
def unusual_entries(visit: Visit) -> list[Unusual]:
    return find(visit)

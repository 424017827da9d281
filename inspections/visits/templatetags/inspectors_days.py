"""Where everybody is on a day, as HTML, drawn in one go: tag by tag a firm with many inspectors would wait for it.

Whatever comes from a row goes through `escape`.
"""

from collections.abc import Iterable
from html import escape

from django import template
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from firm.people.models import User
from inspections.visits.busy import InspectorsDay
from inspections.visits.clock import clock_words
from inspections.visits.models import Visit

register = template.Library()


@register.simple_tag
def inspectors_days(inspectors: Iterable[InspectorsDay], chosen: User | None) -> SafeString:
    """Each inspector with the visits of the day; the one that is `chosen` is marked."""
    visit_address = reverse("visit-detail", args=[0]).removesuffix("0/")
    marked = chosen.pk if chosen else None
    return mark_safe("\n".join(_one(one, one.inspector.pk == marked, visit_address) for one in inspectors))


def _one(one: InspectorsDay, is_chosen: bool, visit_address: str) -> str:
    visits = "".join(f"<li>{_visit(visit, visit_address)}</li>" for visit in one.visits)
    return (
        f'<article class="inspectors-day{" is-chosen" if is_chosen else ""}">'
        f"<h3>{escape(one.inspector.display_name)}</h3>"
        + (f'<ol class="day-list">{visits}</ol>' if visits else '<p class="soft">Free all day.</p>')
        + "</article>"
    )


def _visit(visit: Visit, visit_address: str) -> str:
    state = "" if visit.state == Visit.State.BOOKED else f" · {escape(visit.get_state_display().lower())}"
    return (
        f'<a href="{visit_address}{visit.pk}/">'
        f'<span class="when">{clock_words(visit.starts_at)} to {clock_words(visit.ends_at)}</span>'
        f'<span class="where">{escape(visit.property.street)}, {escape(visit.property.town)}</span>'
        f'<span class="soft small">sets out at {clock_words(visit.leaves_at)}{state}</span></a>'
    )

"""What the pages of findings and of photos have in common: who sees a record, who writes it, and the way back."""

from django.http import HttpRequest
from django.urls import reverse

from firm.people.capabilities import Capability
from firm.web.going_back import page_of_ours
from inspections.visits.models import Visit

SEES_RECORDS = (Capability.RECORD, Capability.RELEASE, Capability.BOOK)


def may_record(user, visit: Visit) -> bool:
    """Whether to show what changes the record. The services ask again; this only spares a person a refusal."""
    return visit.is_open_for_record and visit.inspector_id == user.pk and user.may(Capability.RECORD)


def why_not(visit: Visit) -> str:
    if not visit.is_open_for_record:
        return f"This visit is {visit.get_state_display().lower()}: its record is closed."
    return f"This is {visit.inspector.display_name}'s visit; only its own inspector writes its record."


def back_to(request: HttpRequest, visit: Visit) -> str:
    """Where the person came from, if that is a page of ours; else the findings of the visit."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    return page_of_ours(request, wanted, reverse("finding-list", args=[visit.pk]))

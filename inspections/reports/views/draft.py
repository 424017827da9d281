"""The draft: the PDF as it would be drawn now, before anything is released."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from engine.errors import DeckFaults
from firm.people.capabilities import Capability, needs
from inspections.reports.draft import NoDraft, draw_draft
from inspections.visits.models import Visit


@needs(Capability.RELEASE)
@require_POST  # it takes seconds of a machine: no page may be fetched ahead into it
def report_draft(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)
    try:
        pdf = draw_draft(visit)
    except NoDraft as refusal:
        messages.error(request, str(refusal), extra_tags="problem")
        return redirect("review-detail", pk)
    except DeckFaults:
        messages.error(request, "No draft while the record contradicts itself.", extra_tags="problem")
        return redirect("review-detail", pk)
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="draft-of-visit-{1000 + pk}.pdf"',
            "Cache-Control": "private, no-store",
        },
    )

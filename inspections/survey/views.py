from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.survey.pages import link_context, may_write, walk_context
from inspections.survey.services import NotYours, RecordClosed, Unreadable
from inspections.survey.start import StartForm, set_up_deck
from inspections.survey.wording import BY_SLUG
from inspections.visits.models import Visit

# Whoever may see a visit may read its record; the services let only its inspector write it.
READERS = (Capability.RECORD, Capability.BOOK, Capability.RELEASE)


def visit_seen_by(user, pk: int) -> Visit:
    return get_object_or_404(Visit.objects.visible_to(user).whole(), pk=pk)


@needs(*READERS)
@require_GET
def walk(request, pk):
    visit = visit_seen_by(request.user, pk)
    context = walk_context(visit, request.user)
    form = StartForm(label_suffix="") if context["may_write"] and not context["record"].parts else None
    return render(request, "inspections/survey/walk.html", {**context, "form": form})


@needs(Capability.RECORD)
def walk_start(request, pk):
    """The short form of an empty record; a record that has parts is left alone."""
    visit = visit_seen_by(request.user, pk)
    if request.method != "POST" or not may_write(request.user, visit):
        return redirect("walk", pk)
    form = StartForm(request.POST, label_suffix="")
    if form.is_valid():
        try:
            if not visit.parts.filter(removed_at__isnull=True).exists():
                set_up_deck(visit, form.cleaned_data, by=request.user)
            return redirect("walk", pk)
        except (RecordClosed, NotYours, Unreadable) as refusal:
            form.add_error(None, str(refusal))
    context = walk_context(visit, request.user)
    return render(request, "inspections/survey/walk.html", {**context, "form": form}, status=422)


@needs(*READERS)
@require_GET
@vary_on_headers("HX-Request")
def walk_link(request, pk, slug):
    visit = visit_seen_by(request.user, pk)
    if slug not in BY_SLUG:
        raise Http404
    chosen = request.GET.get("fastener", "")
    context = link_context(visit, BY_SLUG[slug], request.user, chosen=chosen)
    if wants_fragment(request) and chosen:
        block = next((block for _, block in context["sheets"] if block and block.chosen), None)
        if block is None:
            raise Http404
        return render(request, "inspections/survey/_fasteners.html", {**context, "block": block})
    return render(request, "inspections/survey/link.html", context)

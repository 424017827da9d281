from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from firm.people.capabilities import Capability, needs
from inspections.findings.forms import DefectForm
from inspections.findings.models import Defect
from inspections.findings.services import save_defect
from inspections.findings.words import in_order_of_the_load_path


@needs(Capability.RELEASE, Capability.ADMINISTER)
@require_safe
def defect_list(request: HttpRequest) -> HttpResponse:
    used = Count("findings", filter=Q(findings__removed_at__isnull=True))
    groups = in_order_of_the_load_path(Defect.objects.annotate(times_used=used))
    return render(request, "inspections/findings/defects.html", {"groups": groups})


@needs(Capability.RELEASE, Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def defect_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, Defect(link="ledger and house"))


@needs(Capability.RELEASE, Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def defect_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(Defect, pk=pk))


def _edit(request: HttpRequest, defect: Defect) -> HttpResponse:
    is_new = defect.pk is None
    form = DefectForm(request.POST or None, instance=defect)
    if request.method == "POST" and form.is_valid():
        save_defect(form.save(commit=False), by=request.user)
        messages.success(request, f"“{defect.title}” is {'added' if is_new else 'saved'}.")
        return redirect("defect-list")
    return render(request, "inspections/findings/defect_edit.html", {"form": form, "defect": defect, "is_new": is_new})

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firm import audit
from firm.people.capabilities import Capability, needs
from inspections.exchange.fates import EVERY, Fates, counts_of
from inspections.exchange.forms import ImportForm
from inspections.exchange.judging import COLUMNS, LABELS
from inspections.exchange.models import Export, Import
from inspections.exchange.services import ask_for_export, look_at, take_over

MOST_LISTED = 20
A_PAGE = 100


@needs(Capability.ADMINISTER)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def exchange(request: HttpRequest) -> HttpResponse:
    """Send a table in to be looked at; what was sent in before; the whole firm as tables."""
    is_sent = request.method == "POST"
    form = ImportForm(request.POST if is_sent else None, request.FILES if is_sent else None)
    if is_sent and form.is_valid():
        job = look_at(form.cleaned_data["file"], form.cleaned_data["what"], by=request.user)
        return redirect("import-detail", job.pk)
    context = {
        "form": form,
        "imports": Import.objects.all()[:MOST_LISTED],
        "exports": Export.objects.all()[:MOST_LISTED],
        "columns": [
            (label, *([(name, LABELS.get(name, "")) for name in names] for names in COLUMNS[what]))
            for what, label in Import.What.choices
        ],
    }
    return render(request, "inspections/exchange/exchange.html", context, status=422 if is_sent else 200)


@needs(Capability.ADMINISTER)
@never_cache
@require_safe
def import_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """How far it is, and the fate of every row: by fate, a page at a time."""
    job = get_object_or_404(Import, pk=pk)
    counts = counts_of(job)
    fate = request.GET.get("fate", "")
    if not counts.get(fate):
        fate = next((one for one in counts if counts[one]), EVERY)
    page = Paginator(Fates(job, fate), A_PAGE).get_page(request.GET.get("page"))
    context = {"job": job, "fate": fate, "counts": list(counts.items()), "page": page, "rows": page.object_list}
    return render(request, "inspections/exchange/import.html", context)


@needs(Capability.ADMINISTER)
@require_safe
def import_fates(request: HttpRequest, pk: int) -> HttpResponse:
    """The fate of every row, as CSV."""
    job = get_object_or_404(Import, pk=pk, state=Import.State.DONE)
    if not job.fates_file or not job.fates_file.storage.exists(job.fates_file.name):
        raise Http404
    name = f"{job.name.rpartition('.')[0] or job.name}-fates.csv"
    answer = FileResponse(job.fates_file.open("rb"), as_attachment=True, filename=name, content_type="text/csv")
    answer["Cache-Control"] = "private, no-store"
    return answer


@needs(Capability.ADMINISTER)
@require_POST
def import_take_over(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Import, pk=pk)
    if not take_over(job, by=request.user):
        messages.error(request, "Not taken over: every row must be right first.", extra_tags="problem")
    return redirect("import-detail", job.pk)


@needs(Capability.ADMINISTER)
@require_POST
def export_ask(request: HttpRequest) -> HttpResponse:
    ask_for_export(request.user)
    messages.success(request, "The worker writes the tables now. Reload to see how far it is.")
    return redirect("exchange")


@needs(Capability.ADMINISTER)
@require_safe
def export_download(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Export, pk=pk, state=Export.State.DONE)
    if not job.file or not job.file.storage.exists(job.file.name):
        raise Http404
    if request.method == "GET":
        audit.record(request.user, "took away", job)
    answer = FileResponse(job.file.open("rb"), as_attachment=True, filename=job.file.name.rpartition("/")[2])
    answer["Cache-Control"] = "private, no-store"
    return answer

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from firm.branding.forms import FirmForm
from firm.branding.models import Firm
from firm.branding.services import save_firm
from firm.people.capabilities import Capability, needs, signed_in


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def firm_edit(request: HttpRequest) -> HttpResponse:
    firm = Firm.current()
    form = FirmForm(
        request.POST if request.method == "POST" else None,
        request.FILES if request.method == "POST" else None,
        instance=firm,
    )
    if request.method == "POST" and form.is_valid():
        save_firm(
            form.save(commit=False),
            by=request.user,
            new_logo=form.cleaned_data["new_logo"],
            remove_logo=form.cleaned_data["remove_logo"],
        )
        messages.success(request, "Saved. Reports that were issued before keep what they were issued with.")
        return redirect("firm-edit")
    status = 422 if request.method == "POST" else 200
    # The row as it is stored, not what a refused form put into `firm`: the logo shown is the one in use.
    context = {"form": form, "logo_in_use": bool(Firm.current().logo)}
    return render(request, "firm/branding/edit.html", context, status=status)


@signed_in
@require_safe
def firm_logo(request: HttpRequest) -> HttpResponse:
    logo = Firm.current().logo
    if not logo or not logo.storage.exists(logo.name):
        raise Http404
    response = FileResponse(logo.open("rb"), content_type="image/png")
    response["Cache-Control"] = "private, max-age=300"
    return response

from django import forms
from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firm.clients.models import Client
from firm.people.capabilities import Capability, needs
from firm.web.forms import NoColon
from inspections.personal import copies
from inspections.personal.erasing import NotYet, erase_client, nobody_of, what_stays
from inspections.personal.exporting import export_client


class EraseForm(NoColon, forms.Form):
    because = forms.CharField(label="Who asked for it, how and when", max_length=200)
    name = forms.CharField(label="The client's name once more", max_length=120)

    def __init__(self, *args, client: Client, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.client = client

    def clean_name(self) -> str:
        if " ".join(self.cleaned_data["name"].split()).casefold() != " ".join(self.client.name.split()).casefold():
            raise forms.ValidationError("This is not the name of this client.")
        return self.cleaned_data["name"]

    def clean_because(self) -> str:
        because = self.cleaned_data["because"]
        if self.client.name.casefold() in because.casefold():
            raise forms.ValidationError("Leave the name out: this line is kept in the history.")
        return because


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def client_data(request: HttpRequest, pk: int) -> HttpResponse:
    """What is kept about a client, and taking it out."""
    client = get_object_or_404(Client, pk=pk)
    form = EraseForm(request.POST if request.method == "POST" else None, client=client)
    status = 422 if request.method == "POST" else 200
    if form.is_valid():
        try:
            erase_client(client, by=request.user, because=form.cleaned_data["because"])
        except NotYet as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The name and the ways to reach this client are taken out.")
            return redirect("client-data", pk)
    context = {
        "client": client,
        "form": form,
        "kept": what_stays(client),
        "is_erased": client.name == nobody_of(client),
        "tables": copies.count(),
    }
    return render(request, "inspections/personal/client_data.html", context, status=status)


@needs(Capability.ADMINISTER)
@require_POST
def client_export(request: HttpRequest, pk: int) -> HttpResponse:
    """All that is kept about a client, to be handed to them."""
    archive = export_client(get_object_or_404(Client, pk=pk), by=request.user)
    answer = FileResponse(archive, as_attachment=True, filename=f"client-{pk}.zip", content_type="application/zip")
    answer["Cache-Control"] = "private, no-store"
    return answer

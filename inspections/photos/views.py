from io import BytesIO
from pathlib import PurePath
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.http import quote_etag
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from firm.branding.models import Firm
from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.findings.models import Finding
from inspections.findings.pages import SEES_RECORDS, back_to, may_record
from inspections.findings.words import link_named
from inspections.photos.forms import ACCEPTED, CaptionForm
from inspections.photos.intake import CONTENT_TYPES
from inspections.photos.location import without_location
from inspections.photos.models import Photo
from inspections.photos.services import (
    PhotoAlreadyThere,
    PhotoRefused,
    describe_photo,
    remove_photo,
    take_in_photo,
    try_photo_again,
)
from inspections.survey.models import Part
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused

SERVED = ("thumb", "screen", "original")
_A_DAY_S = 86_400


@needs(Capability.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def photo_add(request: HttpRequest, visit_pk: int) -> HttpResponse:
    """Take in every file that is good and say which are not. HTMX and photos.js get the new tiles, one per file."""
    visit = get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=visit_pk)
    scope = _scope(request, visit)
    taken: list[Photo] = []
    refused: list[str] = []
    if request.method == "POST":
        uploads = request.FILES.getlist("photos")
        if not uploads:
            refused.append("No photo was chosen. Choose one or more, then add them.")
        try:
            for upload in uploads:
                _take_in(visit, upload, request.user, scope, taken, refused)
        except Refused as refusal:  # the record itself is closed to this person: no file has a chance
            refused.append(str(refusal))
        if not wants_fragment(request) and not refused:
            messages.success(request, f"{len(taken)} photo{'s are' if len(taken) != 1 else ' is'} added.")
            return redirect(back_to(request, visit))
    context = {
        "visit": visit,
        **scope,
        "taken": taken,
        "refused": refused,
        "accepted": ACCEPTED,
        "may_record": True,
        "back": back_to(request, visit),
    }
    if wants_fragment(request):
        status = 422 if refused and not taken else 200
        return render(request, "inspections/photos/_added.html", context, status=status)
    return render(request, "inspections/photos/add.html", context)


@needs(*SEES_RECORDS)
@require_safe
def photo_file(request: HttpRequest, pk: UUID, rendition: str) -> HttpResponse:
    """One file of a photo, for those who may see its visit. The path comes from the row, never from the address.

    The original is handed out without the place where it was taken, unless the firm keeps that.
    """
    photo = photo_seen(request, pk)
    if rendition not in SERVED or not (file := getattr(photo, rendition)):
        raise Http404("no such rendition, or not made yet")
    is_blanked = rendition == "original" and not Firm.current().keeps_photo_location
    etag = quote_etag(f"{photo.sha256[:32]}-{PurePath(file.name).stem}{'-placeless' if is_blanked else ''}")
    response = get_conditional_response(request, etag=etag)
    if response is None:
        ending = PurePath(file.name).suffix
        try:
            stream = file.open("rb")
        except FileNotFoundError as error:
            raise Http404("the file is gone") from error
        response = FileResponse(
            BytesIO(without_location(stream.read())) if is_blanked else stream,
            content_type=CONTENT_TYPES.get(ending, "application/octet-stream"),
            filename=f"photo-{photo.pk}-{rendition}{ending}",
        )
    response["ETag"] = etag
    response["X-Content-Type-Options"] = "nosniff"
    patch_cache_control(response, private=True, max_age=_A_DAY_S)
    return response


@needs(*SEES_RECORDS)
@require_safe
def photo_tile(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The tile of one photo, asked for again and again until its renditions are made."""
    photo = photo_seen(request, pk)
    return render(
        request, "inspections/photos/_tile.html", {"photo": photo, "may_record": may_record(request.user, photo.visit)}
    )


@needs(Capability.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
def photo_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    photo = photo_seen(request, pk)
    form = CaptionForm(request.POST or None, instance=photo)
    if request.method == "POST" and form.is_valid():
        caption = form.cleaned_data["caption"]
        photo.refresh_from_db(fields=["caption"])
        try:
            describe_photo(photo, caption, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The words under the photo are saved.")
            return redirect(back_to(request, photo.visit))
    context = {"photo": photo, "form": form, "visit": photo.visit, "back": back_to(request, photo.visit)}
    return render(request, "inspections/photos/edit.html", context)


@needs(Capability.RECORD)
@require_POST
def photo_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    photo = photo_seen(request, pk)
    try:
        remove_photo(photo, by=request.user)
    except Refused as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, "The photo is taken out of the record.")
    return redirect(back_to(request, photo.visit))


@needs(Capability.RECORD)
@require_POST
def photo_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Have the renditions made once more, after the worker gave up."""
    photo = photo_seen(request, pk)
    try_photo_again(photo)
    return redirect(back_to(request, photo.visit))


def _take_in(visit, upload, by, scope, taken: list[Photo], refused: list[str]) -> None:
    try:
        taken.append(take_in_photo(visit, upload, by=by, **scope))
    except PhotoAlreadyThere as refusal:
        # Also what a tablet hears that sends again because the first answer got lost: show it what is kept.
        refused.append(refusal.reason)
        taken.append(refusal.photo)
    except PhotoRefused as refusal:
        refused.append(refusal.reason)


def _scope(request: HttpRequest, visit: Visit) -> dict:
    """What the photos are of: a finding or a part of this visit, or a link. What is not of this visit is left out."""
    asked = request.POST if request.method == "POST" else request.GET
    return {
        "finding": _row_of(Finding, visit, asked.get("finding", "")),
        "part": _row_of(Part, visit, asked.get("part", "")),
        "link": link_named(asked.get("link", "")),
    }


def _row_of(model, visit: Visit, pk: str):
    try:
        return model.objects.filter(visit=visit, removed_at__isnull=True, pk=UUID(pk)).first()
    except ValueError:
        return None


def photo_seen(request: HttpRequest, pk: UUID) -> Photo:
    """The photo, for those who may see its visit; a 404 to everybody else."""
    seen = Photo.objects.visible_to(request.user).select_related("rendition_job", "part", "finding", "visit__property")
    return get_object_or_404(seen, pk=pk)

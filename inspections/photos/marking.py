"""Drawing on a photo."""

import json
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from inspections.drawings.marks import KINDS, sheet_size
from inspections.findings.pages import back_to
from inspections.photos.marks import LONGEST_WORDS, MOST_MARKS, digest_of
from inspections.photos.models import Photo
from inspections.photos.services import mark_photo
from inspections.photos.views import photo_seen
from inspections.visits.refusals import Refused


@needs(Capability.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def photo_marks(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The photo with everything drawn on it, to draw more; saved by one POST.

    marks.js sends JSON in `marks` and is answered 200 with the address to go on to, or 422 with the reason as text.
    Without a script marks can be taken away one by one (`take_away`, counted from 0).
    """
    photo = photo_seen(request, pk)
    problem, back = "", back_to(request, photo.visit)
    if request.method == "POST":
        before = request.POST.get("before")
        try:
            mark_photo(photo, _wanted(request, photo), by=request.user, before=before)
        except Refused as refusal:
            if wants_fragment(request):
                return HttpResponse(str(refusal), status=422, content_type="text/plain; charset=utf-8")
            problem = str(refusal)
        else:
            messages.success(request, "The marks are saved.")
            return JsonResponse({"go_on": back}) if wants_fragment(request) else redirect(back)
    if not photo.is_ready:
        messages.warning(request, "This photo is not prepared yet; it can be drawn on in a moment.")
        return redirect(back)
    return render(request, "inspections/photos/marks.html", {**_drawing(photo), "problem": problem, "back": back})


def _drawing(photo: Photo) -> dict:
    width_px, height_px = photo.screen.width, photo.screen.height
    sheet_width, sheet_height = sheet_size(width_px, height_px)
    return {
        "photo": photo,
        "visit": photo.visit,
        "drawn": photo.marks.get("marks", []),
        "before": digest_of(photo.marks),
        "sheet": f"0 0 {sheet_width:g} {sheet_height:g}",
        "width_px": width_px,
        "height_px": height_px,
        "kinds": KINDS,
        "most_marks": MOST_MARKS,
        "longest_words": LONGEST_WORDS,
    }


def _wanted(request: HttpRequest, photo: Photo) -> str:
    """The JSON that was sent; without a script, what is drawn now less the mark to take away."""
    taken_away = request.POST.get("take_away", "")
    if not taken_away.isdecimal():
        return request.POST.get("marks", "")
    marks = photo.marks.get("marks", [])
    return json.dumps([mark for place, mark in enumerate(marks) if place != int(taken_away[:4])])

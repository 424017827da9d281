"""What a tablet says and asks: operations, pieces of photos, what to take along. And where conflicts are settled."""

import json
import re
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from firm.people.capabilities import Capability, needs
from inspections.photos.intake import PhotoRefused
from inspections.sync.access import for_tablets
from inspections.sync.arriving import WrongPiece, received_bytes, take_piece
from inspections.sync.asked import Malformed, read_asked, read_moment
from inspections.sync.models import SyncOperation
from inspections.sync.services import apply_operation, settle, to_settle
from inspections.sync.snapshot import kit, snapshot
from inspections.visits.models import Visit

MOST_AT_ONCE = 200
_SHA256 = re.compile(r"[0-9a-f]{64}")


@for_tablets
@require_POST
def sync(request: HttpRequest) -> HttpResponse:
    """Apply operations in the order in which they stand, each by itself, and say of each what became of it."""
    try:
        sent = json.loads(request.body)
        operations = sent["operations"]
        sent_at, person = read_moment(sent.get("sent_at")), sent.get("person")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, RequestDataTooBig):
        return JsonResponse({"problem": "This could not be read."}, status=400)
    if person != request.user.pk:
        return JsonResponse({"problem": "another person is signed in"}, status=409)
    if not isinstance(operations, list) or len(operations) > MOST_AT_ONCE:
        return JsonResponse({"problem": f"At most {MOST_AT_ONCE} entries at once."}, status=400)
    outcomes = []
    for one in operations:
        try:
            outcomes.append(apply_operation(read_asked(one, sent_at), by=request.user).as_json())
        except Malformed:
            name = one.get("id") if isinstance(one, dict) else None
            outcomes.append({"id": name, "outcome": "refused", "words": "This entry could not be read."})
    return JsonResponse({"outcomes": outcomes, "to_settle": to_settle(request.user).count()})


@for_tablets
@require_http_methods(["GET", "POST"])
@never_cache
def sync_photo(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How much of a photo is here (GET), or its next bytes (POST, the first one's place in the address)."""
    if request.method == "GET":
        return JsonResponse({"received": received_bytes(pk, by=request.user)})
    try:
        sha256, byte_count, starts = request.GET["sha256"], int(request.GET["bytes"]), int(request.GET["from"])
        if not _SHA256.fullmatch(sha256) or not 0 < byte_count < 2**31:
            raise ValueError
        received = take_piece(
            pk, by=request.user, sha256=sha256, byte_count=byte_count, starts_at_byte=starts, data=request.body
        )
    except PhotoRefused as refusal:
        return JsonResponse({"problem": refusal.reason}, status=422)
    except WrongPiece as refusal:
        return JsonResponse({"problem": str(refusal)}, status=409)
    except (KeyError, ValueError, RequestDataTooBig):
        return JsonResponse({"problem": "This could not be read."}, status=400)
    return JsonResponse({"received": received})


@for_tablets
@require_GET
@never_cache
def sync_visit(request: HttpRequest, pk: int) -> HttpResponse:
    """The record of one's own open visit; with `?kit=yes` also the forms to go on with it without signal."""
    visit = Visit.objects.recordable_by(request.user).whole().filter(pk=pk).first()
    if visit is None:
        return JsonResponse({"problem": "There is no such visit that you write."}, status=404)
    found = snapshot(visit)
    if request.GET.get("kit"):
        found["kit"] = kit(visit)
    return JsonResponse({**found, "photo_max_bytes": settings.PHOTO_MAX_BYTES})


@needs(Capability.RECORD)
@require_safe
def sync_problems(request: HttpRequest) -> HttpResponse:
    """What is waiting on this tablet (filled in by the tablet), and what the server could not simply take over."""
    return render(request, "inspections/sync/problems.html", {"operations": to_settle(request.user)})


@needs(Capability.RECORD)
@require_POST
def sync_settle(request: HttpRequest, pk: UUID) -> HttpResponse:
    operation = get_object_or_404(SyncOperation, pk=pk, by=request.user)
    if operation.visit_id is not None and operation.visit.inspector_id != request.user.pk:
        raise Http404
    if problem := settle(operation, request.POST.get("how", ""), by=request.user):
        messages.warning(request, problem)
    return redirect("sync-problems")

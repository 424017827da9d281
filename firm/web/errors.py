import errno

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from firm.people.capabilities import NotAllowed


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    reason = str(exception) if isinstance(exception, NotAllowed) else ""
    return render(request, "403.html", {"reason": reason}, status=403)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """What came could not be read, as fields of another alphabet. Without the request's context, which reads it again;
    Django's own page does so as well, to look for the token of a form, and breaks."""
    return HttpResponse(render_to_string("400.html"), status=400)


def form_expired(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form without a valid token: mostly one that stood open since before the last sign-in."""
    return render(request, "form_expired.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    # Without the request: its context asks the database, which may be what broke.
    page = render_to_string("500.html", {"request_id": getattr(request, "request_id", "")})
    return HttpResponse(page, status=500)


def disk_full(request: HttpRequest) -> HttpResponse:
    """Without the request's context, as above. 507: "Insufficient Storage" (RFC 4918, 11.5)."""
    page = render_to_string("507.html", {"request_id": getattr(request, "request_id", "")})
    return HttpResponse(page, status=507)


def is_disk_full(error: BaseException | None) -> bool:
    """Whether it failed because a disk, or somebody's share of it, is full: ours or that of the database."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
            return True
        if isinstance(error, DatabaseError) and ("disk is full" in str(error) or "No space left" in str(error)):
            return True
        error = error.__cause__
    return False

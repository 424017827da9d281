from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from firm.people.capabilities import NotAllowed


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    reason = str(exception) if isinstance(exception, NotAllowed) else ""
    return render(request, "403.html", {"reason": reason}, status=403)


def form_expired(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form without a valid token: mostly one that stood open since before the last sign-in."""
    return render(request, "form_expired.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    # Without the request: its context asks the database, which may be what broke.
    page = render_to_string("500.html", {"request_id": getattr(request, "request_id", "")})
    return HttpResponse(page, status=500)

"""What every answer carries, whoever gives it: pages, photos, static files, refusals and errors alike."""

import logging
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from firm.web.errors import disk_full, is_disk_full

log = logging.getLogger(__name__)

# Types that need the site's own policy: pages, the scripts of workers (whose answer rules what they may do), and PDFs,
# which browsers show in a viewer of their own that a sandbox would shut off.
_OWN_POLICY = frozenset({"text/html", "text/javascript", "application/javascript", "application/pdf"})
SANDBOX = "default-src 'none'; frame-ancestors 'none'; sandbox"
HEADERS = {
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=(), browsing-topics=()",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Permitted-Cross-Domain-Policies": "none",
    # No machine between keeps a page. Not no-store: going back after a fault would then lose what was typed.
    "Cache-Control": "private, no-cache",
}


class GuardMiddleware:
    """Refuses bodies that are too large before they are read, and shuts off what is no page.

    A file that somebody sent in (a photo, a logo) is served as what it was made into, and in a sandbox: should a
    browser take it for a page all the same, nothing in it runs.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # A body without a length is no way round: Django reads none of it.
        response = too_large() if _length(request) > settings.REQUEST_MAX_BYTES else self.get_response(request)
        if response.status_code == 304:
            # A browser would put this policy in the place of the one that it kept, whose nonce its page has.
            response._csp_exempt = True
        elif response.get("Content-Type", "text/html").partition(";")[0].strip() not in _OWN_POLICY:
            response["Content-Security-Policy"] = SANDBOX
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not is_disk_full(exception):
            return None
        log.error("the disk is full: %s", exception)
        return disk_full(request)


def too_large() -> HttpResponse:
    most_mb = settings.REQUEST_MAX_BYTES // 1_048_576
    return HttpResponse(render_to_string("413.html", {"most_mb": most_mb}), status=413)


def _length(request: HttpRequest) -> int:
    text = request.META.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isascii() and text.isdigit() else 0

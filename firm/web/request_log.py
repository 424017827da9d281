"""One id per request, on every log line it causes and in the answer, so that a complaint can be found in the log."""

import logging
import re
import time
from collections.abc import Callable
from contextvars import ContextVar
from uuid import uuid4

from django.http import HttpRequest, HttpResponse

log = logging.getLogger("soundings.request")
current_request_id: ContextVar[str] = ContextVar("current_request_id", default="-")
_SAFE_ID = re.compile(r"[A-Za-z0-9-]{8,64}")


class RequestIdFilter(logging.Filter):
    """Adds the request's id, and takes the secret out of the paths that Django logs when a page fails."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_id = current_request_id.get()
        if record.name == "django.request" and isinstance(record.args, tuple):
            record.args = tuple(loggable_path(word) if isinstance(word, str) else word for word in record.args)
        return True


class RequestLogMiddleware:
    """Logs method, path, status and milliseconds. Never the query string: a search holds a client's name."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        from_proxy = request.headers.get("X-Request-ID", "")
        request.request_id = from_proxy if _SAFE_ID.fullmatch(from_proxy) else uuid4().hex[:12]
        current_request_id.set(request.request_id)  # stays until the next: Django logs a 404 after this has returned
        start = time.perf_counter()
        response = self.get_response(request)
        response["X-Request-ID"] = request.request_id
        ms = (time.perf_counter() - start) * 1000
        path, user = loggable_path(request.path), getattr(request, "_cached_user", None)  # asks the database nothing
        told = {"method": request.method, "path": path, "status": response.status_code, "ms": round(ms)}
        if user is not None and user.is_authenticated:
            told["user"] = user.pk
        log.info("%s %s %s %.0f ms", request.method, path, response.status_code, ms, extra={"told": told})
        return response


def loggable_path(path: str) -> str:
    """The path without the secret of a link: whoever reads the log must not be able to open a report, or an account."""
    path = re.sub(r"^(/r|/password/set/[^/]+)/[^/]+", r"\1/...", path)
    return re.sub(r"/[\w-]{40,}(?=/|$)", "/...", path)  # whatever else is as long as a token

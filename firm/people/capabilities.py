"""What a person may do: the one place that says which role may do what. Views ask for a capability, not a role."""

from collections.abc import Callable
from enum import StrEnum
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse


class Capability(StrEnum):
    BOOK = "book"
    RECORD = "record"
    RELEASE = "release"
    SEE_TRENDS = "see_trends"
    ADMINISTER = "administer"

    @property
    def words(self) -> str:
        return _WORDS[self]


_WORDS = {
    Capability.BOOK: "book visits",
    Capability.RECORD: "record an inspection",
    Capability.RELEASE: "release reports",
    Capability.SEE_TRENDS: "see the trends",
    Capability.ADMINISTER: "look after people and settings",
}

# The key is the boolean field of `User` that gives the role.
ROLE_CAPABILITIES: dict[str, frozenset[Capability]] = {
    "is_office": frozenset({Capability.BOOK}),
    "is_inspector": frozenset({Capability.RECORD}),
    "is_manager": frozenset({Capability.BOOK, Capability.RELEASE, Capability.SEE_TRENDS}),
    "is_administrator": frozenset({Capability.ADMINISTER, Capability.BOOK}),
}


class NotAllowed(PermissionDenied):
    """A signed-in person lacks every one of the capabilities that the page asks for."""

    def __init__(self, needed: tuple[Capability, ...]) -> None:
        self.needed = needed
        super().__init__("This page is for those who may " + " or ".join(one.words for one in needed) + ".")


View = Callable[..., HttpResponse]


def needs(*any_of: Capability) -> Callable[[View], View]:
    """Let in whoever has any of the capabilities; send the signed-out to sign in; refuse others with 403.

    Raises TypeError when no capability is named: that would be `signed_in`.
    """
    if not any_of or not all(isinstance(one, Capability) for one in any_of):
        raise TypeError("needs() wants capabilities; for every signed-in person use @signed_in")

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return _to_sign_in(request)
            if not any(request.user.may(one) for one in any_of):
                raise NotAllowed(any_of)
            return view(request, *args, **kwargs)

        guarded.access = any_of
        return guarded

    return wrap


def signed_in(view: View) -> View:
    """Let in every signed-in person."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_authenticated:
            return _to_sign_in(request)
        return view(request, *args, **kwargs)

    guarded.access = "signed in"
    return guarded


def open_to_all(view: View) -> View:
    """Mark a view as public on purpose; a view without any mark fails the tests."""
    view.access = "open"
    return view


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    from django.contrib.auth.views import redirect_to_login  # wants the User model, which imports this file

    if getattr(request, "htmx", None):
        # A fragment cannot hold the sign-in page: tell the browser to go there, and to come back to the page it shows.
        response = HttpResponse(status=204)
        response["HX-Redirect"] = redirect_to_login(request.htmx.current_url_abs_path or "/").url
        return response
    return redirect_to_login(request.get_full_path() if request.method == "GET" else "/")

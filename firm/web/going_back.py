from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def page_of_ours(request: HttpRequest, wanted: str, otherwise: str) -> str:
    """The page that somebody wants to go on to, if it is a path on this server."""
    # A path: `redirect` would take a word for the name of a view, and break.
    is_ours = wanted.startswith("/") and url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if is_ours else otherwise

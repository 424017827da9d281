from django.http import HttpRequest


def wants_fragment(request: HttpRequest) -> bool:
    """Whether HTMX asks for a part of the page. A boosted link or a restored history entry wants all of it."""
    return bool(request.htmx) and not (request.htmx.boosted or request.htmx.history_restore_request)

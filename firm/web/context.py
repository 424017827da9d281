from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject


def firm_and_capabilities(request: HttpRequest) -> dict[str, Any]:
    """`firm`: the firm's name and looks. `capabilities`: what this person may do, as in `"book" in capabilities`."""
    from firm.branding.models import Firm

    user = getattr(request, "user", None)  # an error page may be drawn before the person is known
    return {
        "firm": SimpleLazyObject(Firm.current),  # a page that does not print it asks the database nothing
        "capabilities": user.capabilities if user is not None and user.is_authenticated else frozenset(),
    }

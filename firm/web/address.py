from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The address that the request came from.

    Behind our proxy it is the last entry of X-Forwarded-For, the one that the proxy wrote: whatever stands before it
    was sent by the client and may be invented.
    """
    if settings.BEHIND_PROXY and (forwarded := request.headers.get("X-Forwarded-For", "")):
        return forwarded.rsplit(",", 1)[-1].strip()
    return request.META.get("REMOTE_ADDR", "")

import ipaddress

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The address that the request came from.

    Behind our proxy it is the last entry of X-Forwarded-For, the one that the proxy wrote: whatever stands before it
    was sent by the client and may be invented.
    """
    if settings.BEHIND_PROXY:
        forwarded = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
        if _read(forwarded):
            return forwarded
    return request.META.get("REMOTE_ADDR", "")


def place(request: HttpRequest) -> str:
    """By what tries are counted. Of an IPv6 address the first half: whoever has one has the others that begin so, too
    (RFC 6177 gives each site no fewer)."""
    address = client_address(request)
    read = _read(address)
    if isinstance(read, ipaddress.IPv6Address) and not read.ipv4_mapped:
        return str(ipaddress.ip_network((int(read), 64), strict=False).network_address)
    return address


def _read(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(text)
    except ValueError:
        return None

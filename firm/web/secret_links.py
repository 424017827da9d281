"""What pages have in common that are opened by an address which is a key: no account, and nothing to be guessed.

Whoever asks for wrong addresses has to wait before the next wrong one is looked at. A right one opens all the same: 256
bits are not guessed, and whoever sits behind the same router as somebody who tries must not be shut out by him.
"""

import hashlib

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse

from firm.web.address import place

WRONG_TRIES = 30  # wrong addresses from one place before it has to wait; a client mistypes once or twice
WAIT_S = 600


def must_wait(request: HttpRequest) -> bool:
    return cache.get(_key(request), 0) >= WRONG_TRIES


def count_wrong(request: HttpRequest) -> None:
    key = _key(request)
    if not cache.add(key, 1, timeout=WAIT_S):
        try:
            cache.incr(key)
        except ValueError:  # it ran out between the two lines
            cache.set(key, 1, timeout=WAIT_S)


def private(response: HttpResponse) -> HttpResponse:
    """The address is the key: it must reach no other site, no search engine, no shared cache."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    response["Cache-Control"] = "private, no-store"
    return response


def _key(request: HttpRequest) -> str:
    return "wrong-link-" + hashlib.sha256(place(request).encode()).hexdigest()

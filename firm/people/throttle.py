"""Counting wrong passwords, so that nobody can try a whole dictionary.

Counted per user name and address together: by name alone, a stranger could lock the inspector out; by address alone,
one person who forgot a password would lock out the office behind the same router. A folder cache may lose a count
when two wrong passwords come at the same instant; that is a try or two more, not a hole.
"""

import hashlib

from django.conf import settings
from django.core.cache import cache


def must_wait(username: str, address: str, tries: int = 0) -> bool:
    return cache.get(_key(username, address), 0) >= (tries or settings.SIGN_IN_TRIES)


def count_wrong_password(username: str, address: str) -> None:
    key = _key(username, address)
    if not cache.add(key, 1, timeout=settings.SIGN_IN_WAIT_S):
        try:
            cache.incr(key)
        except ValueError:  # it ran out between the two lines
            cache.set(key, 1, timeout=settings.SIGN_IN_WAIT_S)


def forget_wrong_passwords(username: str, address: str) -> None:
    cache.delete(_key(username, address))


def _key(username: str, address: str) -> str:
    # Hashed: a user name may hold what a cache key may not, and may by mistake be somebody's password.
    return "sign-in-" + hashlib.sha256(f"{username.casefold()}\0{address}".encode()).hexdigest()

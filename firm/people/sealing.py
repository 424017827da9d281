"""What must be read again and not lie open in the database or a backup is sealed with the installation's secret.

Fernet (AES-128-CBC with HMAC-SHA-256) under a key that HKDF-SHA-256 (RFC 5869) derives from `SECRET_KEY`. Former ones
in `SECRET_KEY_FALLBACKS` still open what they sealed; `reseal` puts all of it under the present one.
"""

import base64

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

_PURPOSE = b"soundings second factor 1"


class Locked(Exception):
    """None of the secrets that this installation knows opens it: it was sealed elsewhere."""


def seal(text: str) -> str:
    return _fernet().encrypt(text.encode()).decode("ascii")


def unseal(sealed: str) -> str:
    """Raises Locked."""
    try:
        return _fernet().decrypt(sealed).decode()
    except InvalidToken as error:
        raise Locked from error


def is_locked(sealed: str) -> bool:
    try:
        unseal(sealed)
    except Locked:
        return True
    return False


def under_the_present_secret(sealed: str) -> str:
    """The same, sealed anew. Raises Locked."""
    try:
        return _fernet().rotate(sealed.encode("ascii")).decode("ascii")
    except InvalidToken as error:
        raise Locked from error


def _fernet() -> MultiFernet:
    return MultiFernet([_with(secret) for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def _with(secret: str) -> Fernet:
    key = HKDF(algorithm=SHA256(), length=32, salt=None, info=_PURPOSE).derive(secret.encode())
    return Fernet(base64.urlsafe_b64encode(key))

"""Addresses that are keys: made as the mail is sent, so that no row of ours ever holds them."""

from collections.abc import Callable

from firm.mail.models import OutgoingMail

MARK = "[[address]]"  # in a mail's text
_MAKERS: dict[str, Callable[[int], str]] = {}


def register(name: str, make: Callable[[int], str]) -> None:
    """`make` gives a new address for the row with this number."""
    _MAKERS[name] = make


def with_address(mail: OutgoingMail) -> str:
    """The text as it is sent."""
    if not mail.address_of:
        return mail.text
    name, _, number = mail.address_of.partition(" ")
    return mail.text.replace(MARK, _MAKERS[name](int(number)))

"""Between the password and the code: the session knows for ten minutes who gave the right password, and no more."""

import time

from django.http import HttpRequest

from firm.people.models import User

_KEY = "second-step"
GOOD_FOR_S = 600


def remember(request: HttpRequest, person: User, goes_to: str) -> None:
    request.session.cycle_key()
    request.session[_KEY] = {"person": person.pk, "goes_to": goes_to, "at": time.time(), "hash": _hash(person)}


def recall(request: HttpRequest) -> tuple[User, str] | None:
    """The person who still has to give the code, and where they wanted to go."""
    waiting = request.session.get(_KEY)
    if not waiting or not 0 <= time.time() - waiting["at"] <= GOOD_FOR_S:
        return None
    person = User.objects.filter(pk=waiting["person"], is_active=True).first()
    # A password that was changed meanwhile makes the first step worthless.
    return (person, waiting["goes_to"]) if person and waiting["hash"] == _hash(person) else None


def forget(request: HttpRequest) -> None:
    request.session.pop(_KEY, None)


def _hash(person: User) -> str:
    return person.get_session_auth_hash()

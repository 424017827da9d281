"""Where people are signed in. A row per session, noted as it is used; taking it away signs that device out."""

from collections.abc import Callable

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.core.cache import cache
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from firm import audit
from firm.people.models import Device, User
from firm.web.address import client_address

NOTE_EVERY_S = 300
_BROWSERS = ("Edg", "Firefox", "Chrome", "Safari")  # in this order: each but Firefox also names those behind it
_SYSTEMS = {
    "iPad": "iPad",
    "iPhone": "iPhone",
    "Android": "Android",
    "Windows": "Windows",
    "Mac OS": "Mac",
    "Linux": "Linux",
}


class NoteDevices:
    """Notes the device of a signed-in request, at most every five minutes, after the answer is made."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        session = request.session
        person = session.get(SESSION_KEY) if session.accessed else None
        key = session.session_key
        if person and key and cache.add(f"device-{key}", 1, timeout=NOTE_EVERY_S):
            _note(request, int(person), key)
        return answer


def of(person: User) -> list[Device]:
    """The devices whose session is still good, the last used first; rows of sessions that ran out are cleared away."""
    good = Session.objects.filter(expire_date__gt=timezone.now()).values("session_key")
    Device.objects.filter(person=person).exclude(session_key__in=good).delete()
    return list(Device.objects.filter(person=person))


@transaction.atomic
def sign_out(person: User, by: User, *, only: int | None = None, but: str = "") -> int:
    """End the person's sessions: the one of row `only`, or all but the one with the key `but`. How many ended."""
    devices = Device.objects.filter(person=person).exclude(session_key=but)
    if only is not None:
        devices = devices.filter(pk=only)
    keys = list(devices.values_list("session_key", flat=True))
    Session.objects.filter(session_key__in=keys).delete()
    devices.delete()
    if keys:
        audit.record(by, "signed out devices of", person, None, {"devices": len(keys)})
    return len(keys)


def words_for(user_agent: str) -> str:
    """A browser as people call it: "Chrome on Android"."""
    browser = next((one for one in _BROWSERS if one in user_agent), "")
    system = next((one for one in _SYSTEMS if one in user_agent), "")
    browser = "Edge" if browser == "Edg" else browser
    return " on ".join(filter(None, (browser or "A browser", system)))


def _note(request: HttpRequest, person: int, key: str) -> None:
    seen = {
        "person_id": person,
        "seen_at": timezone.now(),
        "address": client_address(request) or None,
        "browser": words_for(request.headers.get("User-Agent", "")),
    }
    if not Device.objects.filter(session_key=key).update(**seen):
        Device.objects.bulk_create([Device(session_key=key, **seen)], ignore_conflicts=True)  # two at once

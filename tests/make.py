"""Rows that tests need, made with as little as each needs. Every argument may be given; all people are invented."""

from datetime import datetime, time, timedelta
from itertools import count

from django.utils import timezone

_numbers = count(1)


def make_client(name="Ines Hallam", **fields):
    from firm.clients.models import Client

    return Client.objects.create(name=name, **fields)


def make_property(client=None, **fields):
    from firm.properties.models import Property

    fields = {"street": f"{next(_numbers)} Mill Lane", "town": "Harrow Point", "region": "Maine", **fields}
    return Property.objects.create(client=client or make_client(), **fields)


def make_inspector(**fields):
    from firm.people.models import User

    return User.objects.create_user(f"inspector-{next(_numbers)}", **{"is_inspector": True, **fields})


def make_visit(inspector=None, *, property=None, starts_at=None, state="booked", **fields):
    """A visit stored as it is, past the rules of booking: tomorrow at ten unless told otherwise.

    A second one of the same inspector is a day later, and so on: PostgreSQL holds two at once to be wrong.
    """
    from inspections.visits.models import Visit

    house = property or make_property()
    if state == "asked_for":
        fields.setdefault("asked_at", timezone.now())
    else:
        inspector = inspector or make_inspector()
    if starts_at is None and inspector:
        taken = set(inspector.visits.values_list("starts_at", flat=True))
        starts_at = next(day for day in (in_days(number, 10) for number in count(1)) if day not in taken)
    return Visit.objects.create(
        client=fields.pop("client", house.client),
        property=house,
        inspector=inspector,
        starts_at=starts_at,
        state=state,
        **fields,
    )


def in_days(days, hour, minute=0):
    """The moment that the firm's clock shows this hour, so many days from today."""
    day = timezone.localdate() + timedelta(days=days)
    return timezone.make_aware(datetime.combine(day, time(hour, minute)))

"""Plain functions that make rows for tests, each with what one does not care about filled in."""

from datetime import timedelta
from itertools import count

from django.utils import timezone

from firm.clients.models import Client
from firm.people.models import User
from firm.properties.models import Property
from inspections.visits.models import Visit

_number = count(1)


def make_client(**fields):
    return Client.objects.create(**{"name": f"Client {next(_number)}", **fields})


def make_property(client=None, **fields):
    given = {"street": f"{next(_number)} Alder Lane", "town": "Farnham", "region": "Ohio", "postcode": "44000"}
    return Property.objects.create(client=client or make_client(), **{**given, **fields})


def make_inspector(**fields):
    return User.objects.create_user(f"inspector-{next(_number)}", **{"is_inspector": True, **fields})


def make_visit(inspector=None, *, property=None, **fields):
    """A visit that was booked for half an hour from now, unless `fields` says otherwise."""
    place = property or make_property()
    given = {"starts_at": timezone.now() + timedelta(minutes=30), "client": place.client, "property": place}
    return Visit.objects.create(inspector=inspector or make_inspector(), **{**given, **fields})

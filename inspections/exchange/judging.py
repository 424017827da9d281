"""What becomes of each row, and why. Nothing is written here.

Added; added but worth a look before that; skipped because it is there; or refused.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from firm.clients.forms import ClientForm
from firm.clients.keys import address_key, digits, words_key
from firm.clients.models import Client
from firm.hours.services import read_roster
from firm.people.capabilities import Capability
from firm.people.models import User
from firm.properties.forms import ADDRESS, HOUSE, PropertyForm
from firm.properties.models import Property
from inspections.exchange.reading import CannotBeRead, Row, Table
from inspections.visits.clock import firm_moment, firm_today
from inspections.visits.forms import FURTHEST_DAYS, WhenForm, refuse_mistyped_year
from inspections.visits.hours import against_plan
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused, StartsInThePast

ADDED, WARNED, SKIPPED, REFUSED = "added", "warned", "skipped", "refused"

COLUMNS = {
    "clients": (["name"], ["phone", "email", "notes"]),
    "properties": (["client", "street", "town", "region"], ["county", "postcode", *HOUSE]),
    "visits": (["client", "street", "town", "day", "time", "inspector"], ["minutes", "purpose", "notes"]),
}
LABELS = {
    "client": "mail address, telephone or name of a client who is on file",
    "inspector": "user name",
    "day": "2027-03-09",
    "time": "14:30 or 2:30 PM",
    "minutes": "length; 90 if empty",
    "purpose": ", ".join(label for _, label in Visit.Purpose.choices),
    "region": "state",
}


@dataclass
class Fate:
    line: int
    fate: str
    why: str = ""
    row: Any = None  # what would be written


class _Bad(Exception):
    pass


def judge(what: str, table: Table) -> Iterator[Fate]:
    """The fate of every row, in order. Raises CannotBeRead if a column is missing or not known."""
    must, may = COLUMNS[what]
    known = {*must, *may}
    heads = [head for head in table.heads if head]
    if missing := [name for name in must if name not in heads]:
        raise CannotBeRead(f"These columns are missing: {', '.join(missing)}.")
    if strange := [name for name in heads if name not in known]:
        raise CannotBeRead(
            f"These columns are not known: {', '.join(strange)[:200]}. Take them out or rename them. "
            f"Known are {', '.join([*must, *may])}."
        )
    make = {"clients": _Clients, "properties": _Properties, "visits": _Visits}[what]()
    for row in table.rows:
        if row.faults:
            yield Fate(row.line, REFUSED, " ".join(row.faults))
            continue
        try:
            yield make(row)
        except _Bad as bad:
            yield Fate(row.line, REFUSED, str(bad))


def _errors(form: forms.BaseForm) -> str:
    return " ".join(
        f"{name}: {' '.join(sentences)}" if name != "__all__" else " ".join(sentences)
        for name, sentences in form.errors.items()
    )


class _Seen:
    """Keys that are there already, and in which line of the file they stood first."""

    def __init__(self, on_file: set[Any]) -> None:
        self.on_file, self.in_file = on_file, {}

    def twin(self, line: int, key: Any) -> str:
        if key in self.on_file:
            return "on file already"
        if key in self.in_file:
            return f"stands in line {self.in_file[key]} already"
        self.in_file[key] = line
        return ""


class _Clients:
    def __init__(self) -> None:
        rows = list(Client.objects.values_list("name", "phone", "email").iterator(chunk_size=5000))
        self.seen = _Seen({_client_key(*row) for row in rows})
        self.whose: dict[str, str] = {}  # number or mail address -> who has it, in words
        for name, phone, email in rows:
            self._note(phone, email, f"{name}, who is on file")

    def __call__(self, row: Row) -> Fate:
        form = ClientForm({**row.cells, "is_another": "on"})
        if not form.is_valid():
            raise _Bad(_errors(form))
        client = form.save(commit=False)
        if why := self.seen.twin(row.line, _client_key(client.name, client.phone, client.email)):
            return Fate(row.line, SKIPPED, f"{client.name}: {why}.")
        like = self._like(client)
        self._note(client.phone, client.email, f"{client.name} in line {row.line}")
        if like:
            return Fate(row.line, WARNED, f"{client.name}: {like}.", client)
        return Fate(row.line, ADDED, client.name, client)

    def _note(self, phone: str, email: str, who: str) -> None:
        for key in filter(None, (digits(phone), email.strip().lower())):
            self.whose.setdefault(key, who)

    def _like(self, client: Client) -> str:
        """Who this client may be under another name; empty if nobody shares a number or an address."""
        ways = (("number", digits(client.phone)), ("mail address", client.email.strip().lower()))
        return next((f"the same {what} as {self.whose[key]}" for what, key in ways if key in self.whose), "")


def _client_key(name: str, phone: str, email: str) -> tuple[str, str, str]:
    return words_key(name), digits(phone), email.strip().lower()


def _house_key(*address: str) -> frozenset[str]:
    """The words of an address, in both forms of a street whichever was written."""
    return frozenset(address_key(*address).split())


class _WhichClient:
    """Clients by mail address, number and name."""

    def __init__(self) -> None:
        self.found: dict[str, set[int]] = {}
        for pk, name, phone, email in Client.objects.values_list("pk", "name", "phone", "email").iterator():
            for key in filter(None, (email.lower(), digits(phone), words_key(name))):
                self.found.setdefault(key, set()).add(pk)

    def __call__(self, text: str) -> int:
        key = text.strip().lower() if "@" in text else digits(text) if len(digits(text)) >= 7 else words_key(text)
        found = self.found.get(key, set())
        if len(found) == 1:
            return next(iter(found))
        if not found:
            raise _Bad(f"client: nobody on file is {text!r}. Take the clients over first.")
        raise _Bad(f"client: {len(found)} on file are {text!r}. Write the mail address or number.")


class _ImportedHouseForm(PropertyForm):
    class Meta(PropertyForm.Meta):
        fields = [*ADDRESS, *HOUSE]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        forms.ModelForm.__init__(self, *args, **kwargs)


class _Properties:
    def __init__(self) -> None:
        self.client = _WhichClient()
        rows = Property.objects.values_list("client_id", "street", "town", "region").iterator(chunk_size=5000)
        self.seen = _Seen({(client, _house_key(*address)) for client, *address in rows})

    def __call__(self, row: Row) -> Fate:
        client = self.client(row.cells["client"])
        form = _ImportedHouseForm(row.cells)
        if not form.is_valid():
            raise _Bad(_errors(form))
        house = form.save(commit=False)
        house.client_id = client
        if why := self.seen.twin(row.line, (client, _house_key(house.street, house.town, house.region))):
            return Fate(row.line, SKIPPED, f"{house.one_line}: {why}.")
        return Fate(row.line, ADDED, house.one_line, house)


class _VisitForm(forms.Form):
    day = forms.DateField(error_messages={"invalid": "Write the day as 2027-03-09."}, validators=[refuse_mistyped_year])
    time = WhenForm.base_fields["time"]
    minutes = forms.IntegerField(min_value=15, max_value=600, required=False)
    notes = forms.CharField(max_length=4000, required=False)


class _Visits:
    def __init__(self) -> None:
        self.client = _WhichClient()
        self.houses: dict[tuple[int, frozenset[str]], int] = {}
        for pk, client, street, town in Property.objects.values_list("pk", "client_id", "street", "town").iterator():
            self.houses[client, _house_key(street, town)] = pk
        self.people = {one.username.lower(): one for one in User.objects.who_may(Capability.RECORD)}
        today = firm_today()
        self.roster = read_roster(self.people.values(), today, today + timedelta(days=FURTHEST_DAYS))
        self.purposes = {key: value for value, label in Visit.Purpose.choices for key in (value, label.lower())}
        there = Visit.objects.filter(starts_at__gt=timezone.now(), state__in=Visit.TAKES_TIME)
        self.seen = _Seen(set(there.values_list("property_id", "starts_at")))

    def __call__(self, row: Row) -> Fate:
        cells = row.cells
        client = self.client(cells["client"])
        house = self._get(self.houses, (client, _house_key(cells["street"], cells["town"])), "street: no such house.")
        person = self._get(
            self.people, cells["inspector"].lower(), "inspector: nobody who inspects has this user name."
        )
        purpose = cells.get("purpose", "").lower() or Visit.Purpose.WHOLE_DECK
        form = _VisitForm(cells)
        if not form.is_valid():
            raise _Bad(_errors(form))
        when = form.cleaned_data
        try:
            moment = firm_moment(when["day"], when["time"])
            starts_at = moment.at
            if starts_at < timezone.now():
                raise StartsInThePast("It is over. Only visits to come are taken over.")
        except Refused as refusal:
            raise _Bad(f"time: {refusal}") from refusal
        if why := self.seen.twin(row.line, (house, starts_at)):
            return Fate(row.line, SKIPPED, f"{cells['street']}: {why}.")
        visit = Visit(
            client_id=client, property_id=house, inspector=person, starts_at=starts_at,
            length_minutes=when["minutes"] or 90, notes=when["notes"],
            purpose=self._get(self.purposes, purpose, "purpose: not known."),
        )  # fmt: skip
        what = f"{cells['street']}, {when['day']}"
        visit.set_times()
        if notes := [note for note in (moment.note, against_plan(visit, self.roster)) if note]:
            return Fate(row.line, WARNED, f"{what}: {' '.join(notes)}", visit)
        return Fate(row.line, ADDED, what, visit)

    @staticmethod
    def _get(among: dict[Any, Any], key: Any, else_say: str) -> Any:
        if key not in among:
            raise _Bad(else_say)
        return among[key]

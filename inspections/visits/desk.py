"""The booking desk: one page on which client, property and time come together while the caller waits.

Every press of a button on it posts the whole page. Until the last one nothing is checked and nothing is stored: what
was typed is given back, and only the part that the button is about changes.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from django import forms
from django.db import transaction
from django.http import QueryDict
from django.urls import reverse

from firm.clients.forms import ClientForm, SearchForm
from firm.clients.models import Client
from firm.clients.search import Found, find_clients
from firm.clients.services import save_client
from firm.people.models import User
from firm.properties.forms import ShortPropertyForm
from firm.properties.models import Property
from firm.properties.services import propose_rules, save_property
from inspections.visits.asking import ask_for_visit
from inspections.visits.booking import book_visit
from inspections.visits.clock import firm_today
from inspections.visits.forms import FURTHEST_DAYS, WHEN, BookForm, WhenForm
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused
from inspections.visits.slots import Offer, next_slots, proposed_minutes, read_slot
from inspections.visits.travel import Road

NEW = "new"


@dataclass(frozen=True)
class Desk:
    """What stands on the page: `data` as it was posted or asked for in the address, `is_checked` at the last press."""

    data: QueryDict
    is_checked: bool = False

    @property
    def here(self) -> str:
        return reverse("visit-book")

    # --- who calls ------------------------------------------------------------------------------------------------
    @cached_property
    def client_choice(self) -> str:
        """A client's number, "new", or "" while one is still looked for."""
        picked = self.data.get("pick_client")
        choice = self.data.get("client", "") if picked is None else picked
        return choice if choice == NEW or _number(choice) else str(self.follows.client_id) if self.follows else ""

    @cached_property
    def client(self) -> Client | None:
        return Client.objects.filter(pk=_number(self.client_choice)).first()

    @property
    def is_new_client(self) -> bool:
        return self.client_choice == NEW

    @cached_property
    def search(self) -> SearchForm:
        return SearchForm({"q": self.data.get("q", "")})

    @cached_property
    def found(self) -> Found:
        return find_clients(self.search.words())

    @cached_property
    def client_form(self) -> ClientForm:
        typed = self.search.words()
        guess = {"phone": typed} if typed and not any(c.isalpha() for c in typed) else {"name": typed}
        return self._form(ClientForm, "client", guess)

    # --- which house ----------------------------------------------------------------------------------------------
    @cached_property
    def properties(self) -> list[Property]:
        return list(self.client.properties.all()) if self.client else []

    @cached_property
    def house(self) -> Property | None:
        """The house that is chosen: the only one, unless another address is asked for."""
        if self.is_new_property:
            return None
        wanted = _number(self._property_choice)
        if wanted is None and len(self.properties) == 1:
            return self.properties[0]
        return next((house for house in self.properties if house.pk == wanted), None)

    @cached_property
    def is_new_property(self) -> bool:
        return not self.properties or self._property_choice == NEW

    @property
    def _property_choice(self) -> str:
        if (picked := self.data.get("pick_property")) is not None:
            return picked
        if "pick_client" in self.data:
            return ""  # the house that was chosen is the other client's
        return self.data.get("property", "") or (str(self.follows.property_id) if self.follows else "")

    @cached_property
    def property_form(self) -> ShortPropertyForm:
        last = Property.objects.order_by("-pk").values_list("region", flat=True).first()
        return self._form(ShortPropertyForm, "property", {"region": last or ""})

    # --- when -----------------------------------------------------------------------------------------------------
    @cached_property
    def follows(self) -> Visit | None:
        """The visit whose repair is to be looked at."""
        return Visit.objects.whole().filter(pk=_number(self.data.get("follows", ""))).first()

    @cached_property
    def form(self) -> BookForm:
        guess = {"travel_minutes": self.road.gap_minutes}
        if self.follows and self.follows.state != Visit.State.CALLED_OFF:
            guess["purpose"] = Visit.Purpose.AFTER_REPAIR
        form = self._form(BookForm, "", guess)
        if not self.is_checked:
            self._put_in_what_is_proposed(form)
        inspectors = list(form.fields["inspector"].queryset[:2])
        if len(inspectors) == 1:
            form.initial.setdefault("inspector", inspectors[0].pk)
        return form

    def _put_in_what_is_proposed(self, form: BookForm) -> None:
        """The length, unless another was typed; and the slot that was taken."""
        proposed = self.proposed_minutes(form)
        typed = self.data.get("length_minutes", "")
        if not typed or typed == self.data.get("proposed_minutes"):
            form.initial["length_minutes"] = proposed
        form.initial |= read_slot(self.data.get("take", ""))

    @cached_property
    def road(self) -> Road:
        return Road.current()

    def proposed_minutes(self, form: BookForm) -> int:
        return proposed_minutes(str(form["purpose"].value()), str(form["deck_size"].value() or ""))

    @cached_property
    def proposed_length(self) -> int:
        return self.proposed_minutes(self.form)

    @cached_property
    def offers(self) -> list[Offer]:
        return offers_for(self.house, self.form, self.data, self.proposed_length, self.road)

    # --- the last press -------------------------------------------------------------------------------------------
    @cached_property
    def problems(self) -> list[str]:
        """What is missing that has no field of its own."""
        if not self.client and not self.is_new_client:
            return ["Choose who calls: find the client, or add a new one."]
        if not self.is_new_property and not self.house:
            return ["Choose which of the client's properties it is."]
        return []

    @property
    def is_without_time(self) -> bool:
        """The caller has no time yet: the visit is only asked for."""
        return "no_time" in self.data

    def is_complete(self) -> bool:
        forms_used = [self.form]
        if self.is_new_client:
            forms_used.append(self.client_form)
        if self.is_new_property:
            forms_used.append(self.property_form)
        if self.is_without_time:
            self.form.forget(WHEN)
        answers = [form.is_valid() for form in forms_used]  # all of them, so that every message shows at once
        return all(answers) and not self.problems

    def book(self, by: User) -> Visit | None:
        """Store client, house and visit, or none of them: then the reason stands beside its field."""
        when = self.form.cleaned_data
        try:
            with transaction.atomic():
                client = self.client or save_client(self.client_form.save(commit=False), by=by)
                house = self.house
                if house is None:
                    house = self.property_form.save(commit=False)
                    house.client = client
                    propose_rules(house)
                    save_property(house, by=by)
                if self.is_without_time:
                    return ask_for_visit(
                        client=client,
                        property=house,
                        length_minutes=when["length_minutes"],
                        purpose=when["purpose"],
                        notes=when["notes"],
                        suits=when["suits"],
                        follows=self.follows,
                        by=by,
                    )
                return book_visit(
                    client=client,
                    property=house,
                    inspector=when["inspector"],
                    starts_at=when["starts_at"],
                    length_minutes=when["length_minutes"],
                    travel_minutes=when["travel_minutes"],
                    purpose=when["purpose"],
                    notes=when["notes"],
                    follows=self.follows,
                    despite=when["despite"],
                    by=by,
                )
        except Refused as refusal:
            self.form.refuse(refusal)
            return None

    def _form(self, form_class: type[forms.BaseForm], prefix: str, guess: dict) -> forms.BaseForm:
        """The form with what was typed: checked at the last press, as it is before."""
        prefix = prefix or None
        if self.is_checked:
            return form_class(self.data, prefix=prefix)
        blank = form_class(prefix=prefix)
        typed = {
            name: self.data[blank.add_prefix(name)] for name in blank.fields if blank.add_prefix(name) in self.data
        }
        return form_class(prefix=prefix, initial={**{k: v for k, v in guess.items() if v}, **typed})


def offers_for(
    house: Property | None, form: WhenForm, data: QueryDict, usual: int, road: Road, leave_out: int | None = None
) -> list[Offer]:
    """Who is free next for as long as the form says (`usual` where that cannot be read), from its day on."""
    length = _number(str(form["length_minutes"].value() or ""))
    length = length if length and 15 <= length <= 600 else usual
    today = firm_today()
    try:
        day = date.fromisoformat(data.get("day", ""))
    except ValueError:
        day = today
    day = min(max(day, today), today + timedelta(days=FURTHEST_DAYS))
    return next_slots(house, length, from_day=day, road=road, leave_out=leave_out)


def _number(text: str) -> int | None:
    """A row's number as it comes from outside; None for anything else, also for what no database column holds."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 18 else None

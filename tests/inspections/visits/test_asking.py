"""A visit that is asked for: nobody's time is taken, nobody is written to, until it has a time."""

from base64 import b64decode
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.clients.models import Client
from firm.mail.models import OutgoingMail
from inspections.exchange.exporting import _cell, columns
from inspections.outside.models import TimeWish
from inspections.outside.services import page_address
from inspections.visits.lists import LISTS
from inspections.visits.models import Visit
from inspections.visits.refusals import ChangedMeanwhile, InspectorBusy, WrongState
from inspections.visits.services import ask_for_visit, book_again, book_visit, call_off, give_time, give_time_up
from tests.inspections.outside.calendar_reader import read
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def house():
    return make_property(make_client("Ines Hallam", email="ines@example.org", phone="207 555 0142"))


@pytest.fixture
def asked(house, office):
    return ask_for_visit(client=house.client, property=house, suits="A Tuesday, late", by=office)


def timed(visit, inspector, office, **more):
    when = {"starts_at": in_days(3, 10), "length_minutes": 90, "travel_minutes": 20, **more}
    return give_time(visit, inspector=inspector, by=office, **when)


def mails():
    return [mail.kind for mail in OutgoingMail.objects.order_by("pk")]


def day(days):
    return (timezone.localdate() + timedelta(days=days)).isoformat()


def test_the_office_keeps_a_caller_who_has_no_time_yet_whatever_stands_in_the_fields_of_the_time(signed_in, office):
    fields = {
        "client": "new", "client-name": "Otis Brankley", "client-phone": "207 555 0177", "property": "new",
        "property-street": "9 Ferry Landing", "property-town": "Saltmarsh", "property-region": "Maine",
        "purpose": "before_sale", "length_minutes": "105", "day": "soon", "time": "", "notes": "Gate at the back.",
        "suits": "After the 12th", "no_time": "1",
    }  # fmt: skip
    answer = signed_in(office).post(reverse("visit-book"), fields, follow=True)
    visit = Visit.objects.get()
    assert (visit.state, visit.starts_at, visit.inspector) == ("asked_for", None, None)
    assert (visit.suits, visit.notes, visit.purpose) == ("After the 12th", "Gate at the back.", "before_sale")
    assert "No time yet" in answer.content.decode()
    assert mails() == []


def test_who_asks_is_still_wanted(signed_in, office):
    answer = signed_in(office).post(reverse("visit-book"), {"no_time": "1", "purpose": "whole_deck"})
    assert answer.status_code == 422
    assert "Choose who calls" in answer.content.decode()
    assert not Visit.objects.exists()


def test_it_stands_in_its_list_and_on_the_offices_first_page_and_in_no_calendar(signed_in, office, asked):
    browser = signed_in(office)
    assert list(LISTS["asked-for"].narrow(Visit.objects.all())) == [asked]
    for name, args in (("home", ()), ("visit-lists", ("asked-for",))):
        page = browser.get(reverse(name, args=args)).content.decode()
        assert "Ines Hallam" in page and "A Tuesday, late" in page
    for address in ("?state=asked_for", "?period=all"):
        assert "No time yet" in browser.get(reverse("visit-list") + address).content.decode()
    assert "Ines Hallam" not in browser.get(reverse("visit-list")).content.decode()
    assert "Ines Hallam" not in browser.get(reverse("calendar")).content.decode()
    assert "A Tuesday, late" in browser.get(reverse("visit-lists-csv", args=["asked-for"])).content.decode()


def test_every_page_that_may_meet_it_shows_it_and_those_of_a_record_do_not_know_it(signed_in, office, asked, manager):
    browser = signed_in(office)
    for name, number in (
        ("visit-detail", asked.pk),
        ("visit-move", asked.pk),
        ("visit-call-off", asked.pk),
        ("client-detail", asked.client_id),
    ):
        assert browser.get(reverse(name, args=[number])).status_code == 200
    for name in ("walk", "review-detail"):
        assert signed_in(manager).get(reverse(name, args=[asked.pk])).status_code == 404


def test_an_inspector_does_not_see_it(signed_in, inspector, asked):
    assert signed_in(inspector).get(reverse("visit-detail", args=[asked.pk])).status_code == 404
    assert "Ines Hallam" not in signed_in(inspector).get(reverse("visit-list") + "?period=all").content.decode()


def test_a_free_time_makes_it_booked_and_only_then_the_client_is_told(signed_in, office, inspector, asked):
    browser, address = signed_in(office), reverse("visit-move", args=[asked.pk])
    slot = browser.get(address).context["desk"].offers[0].slots[0]
    page = browser.post(address, {"take": slot.value, "length_minutes": "90"})
    form = page.context["form"]
    fields = {name: form[name].value() or "" for name in form.fields}
    answer = browser.post(address, {**fields, "inspector": inspector.pk}, follow=True).content.decode()
    asked.refresh_from_db()
    assert (asked.state, asked.starts_at, asked.inspector) == ("booked", slot.starts_at, inspector)
    assert "A confirmation goes to ines@example.org." in answer
    assert mails() == ["visit_confirmed"]
    assert AuditEntry.objects.about(asked).first().verb == "given a time"


def test_it_is_refused_where_the_inspector_is_elsewhere_and_stays_asked_for(asked, inspector, office):
    make_visit(inspector, starts_at=in_days(3, 10))
    with pytest.raises(InspectorBusy):
        timed(asked, inspector, office)
    asked.refresh_from_db()
    assert (asked.state, mails()) == ("asked_for", [])


def test_two_who_give_it_a_time_the_second_is_told(asked, inspector, office):
    timed(asked, inspector, office, seen_version=0)
    with pytest.raises(ChangedMeanwhile):
        timed(asked, inspector, office, starts_at=in_days(4, 10), seen_version=0)


def test_a_time_that_is_given_up_is_free_and_taken_out_of_the_clients_calendar(house, inspector, office):
    when = {"inspector": inspector, "starts_at": in_days(3, 10), "by": office}
    visit = book_visit(client=house.client, property=house, **when)
    assert give_time_up(visit, by=office, suits="Any morning").state == "asked_for"
    other = make_property()
    book_visit(client=other.client, property=other, **when)  # the time is free
    timed(visit, inspector, office, starts_at=in_days(5, 10))
    own = OutgoingMail.objects.filter(to="ines@example.org").order_by("pk")
    files = [read(b64decode(mail.attachments[0]["base64"])) for mail in own]
    assert mails()[:2] == ["visit_confirmed", "visit_time_given_up"]
    assert [head["METHOD"][0] for head, _ in files] == ["REQUEST", "CANCEL", "REQUEST"]
    assert [event["SEQUENCE"][0] for _, (event,) in files] == ["0", "1", "2"]
    assert len({event["UID"][0] for _, (event,) in files}) == 1


def test_what_the_client_wrote_on_the_page_goes_along_when_the_time_is_given_up(signed_in, office, inspector, house):
    visit = make_visit(inspector, property=house)
    TimeWish.objects.create(visit=visit, words="Only after five", calendar_version=0)
    address = reverse("visit-give-up", args=[visit.pk])
    page = signed_in(office).get(address)
    assert page.context["form"]["suits"].value() == "Only after five"
    signed_in(office).post(address, {"suits": "Only after five"})
    visit.refresh_from_db()
    assert (visit.state, visit.suits) == ("asked_for", "Only after five")
    assert not TimeWish.objects.unanswered().exists()


def test_only_a_booked_visit_gives_up_its_time(inspector, office):
    with pytest.raises(WrongState):
        give_time_up(make_visit(inspector, state="under_way"), by=office)


def test_the_client_still_opens_the_page_and_says_when_it_would_suit(client, house, inspector, office):
    visit = make_visit(inspector, property=house)
    token = page_address(visit.pk).rstrip("/").rpartition("/")[2]
    give_time_up(visit, by=office)
    page = client.get(reverse("client-visit", args=[token])).content.decode()
    assert "new time is still to be agreed on" in page
    assert "This time suits me" not in page
    client.post(reverse("client-visit-ask", args=[token]), {"words": "Weekday mornings"})
    visit.refresh_from_db()
    assert visit.suits == "Weekday mornings"


def test_it_is_called_off_without_a_mail_and_taken_up_again(asked, office, signed_in):
    call_off(asked, kind="client", by=office)
    assert (
        "It is asked for after all" in signed_in(office).get(reverse("visit-detail", args=[asked.pk])).content.decode()
    )
    assert book_again(asked, by=office).state == "asked_for"
    assert mails() == []


def test_the_database_holds_that_only_what_is_asked_for_has_no_time(asked, inspector):
    for wrong in ({"state": "booked"}, {"starts_at": timezone.now()}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Visit.objects.filter(pk=asked.pk).update(**wrong)


def test_the_export_of_the_firm_writes_it_down_without_a_time(asked):
    cells = {field.attname: _cell(field.value_from_object(asked)) for field in columns(Visit)}
    assert (cells["state"], cells["starts_at"], cells["suits"]) == ("asked_for", "", "A Tuesday, late")


def test_a_client_who_waits_for_a_time_is_not_erased(asked):
    from inspections.personal.erasing import NotYet, _refuse_if_under_way

    with pytest.raises(NotYet):
        _refuse_if_under_way(Client.objects.get())


def test_a_re_visit_can_be_asked_for_and_both_visits_name_each_other(signed_in, office, inspector, house):
    first = make_visit(inspector, property=house, state="released", starts_at=in_days(-9, 10))
    fields = {"follows": first.pk, "client": house.client_id, "property": house.pk, "purpose": "after_repair",
              "length_minutes": "45", "no_time": "1"}  # fmt: skip
    signed_in(office).post(reverse("visit-book"), fields)
    assert Visit.objects.get(state="asked_for").follows == first
    page = signed_in(office).get(reverse("visit-detail", args=[first.pk])).content.decode()
    assert "a visit that is asked for" in page

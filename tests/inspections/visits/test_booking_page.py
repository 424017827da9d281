"""Booking while the caller waits: one page, with and without JavaScript."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.clients.models import Client
from firm.properties.models import Property
from inspections.visits.models import Visit
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


def day(days):
    return (timezone.localdate() + timedelta(days=days)).isoformat()


@pytest.fixture
def house():
    client = make_client("Ines Hallam", phone="207 555 0142", email="ines@example.org")
    return make_property(client, street="4 Mill Lane")


@pytest.fixture
def when(inspector):
    return {
        "inspector": inspector.pk,
        "day": day(2),
        "time": "10:00",
        "length_minutes": "90",
        "travel_minutes": "20",
        "purpose": "whole_deck",
        "notes": "Hot tub on the upper level.",
    }


@pytest.fixture
def post(signed_in, office):
    def send(fields, target=""):
        headers = {"HX-Request": "true", "HX-Target": target} if target else {}
        return signed_in(office).post(reverse("visit-book"), fields, headers=headers)

    return send


def test_a_client_who_is_on_file_is_booked(post, house, when, inspector, office):
    answer = post({"client": house.client_id, "property": house.pk, **when})
    visit = Visit.objects.get()
    assert answer["Location"] == reverse("visit-detail", args=[visit.pk])
    assert (visit.client, visit.property, visit.inspector, visit.booked_by) == (
        house.client,
        house,
        inspector,
        office,
    )
    assert visit.starts_at == in_days(2, 10)
    assert visit.notes == "Hot tub on the upper level."


def test_a_new_client_with_a_new_house_is_stored_and_booked_at_once(post, when):
    post(
        {
            "client": "new",
            "client-name": "Otis Brankley",
            "client-phone": "207 555 0177",
            "property": "new",
            "property-street": "9 Ferry Landing",
            "property-town": "Saltmarsh",
            "property-region": "Maine",
            **when,
        }
    )
    visit = Visit.objects.get()
    assert (visit.client.name, visit.property.street) == ("Otis Brankley", "9 Ferry Landing")
    assert visit.property.client == visit.client


def test_a_new_house_of_a_client_on_file(post, house, when):
    fields = {"property-street": "9 Ferry Landing", "property-town": "Saltmarsh", "property-region": "Maine"}
    post({"client": house.client_id, "property": "new", **fields, **when})
    assert Visit.objects.get().property.client == house.client
    assert Client.objects.count() == 1


def test_a_new_house_takes_the_rules_that_were_looked_up_in_its_town(post, house, when):
    Property.objects.filter(pk=house.pk).update(ground_snow_psf=60, rules_source="Town office")
    fields = {"property-street": "9 Ferry Landing", "property-town": "Harrow Point", "property-region": "Maine"}
    post({"client": house.client_id, "property": "new", **fields, **when})
    taken = Visit.objects.get().property
    assert (taken.ground_snow_psf, taken.rules_source) == (60, "As for 4 Mill Lane: Town office")


def test_the_only_house_of_a_client_needs_no_choosing(post, house, when):
    post({"client": house.client_id, **when})
    assert Visit.objects.get().property == house


def test_a_client_with_two_houses_must_say_which(post, house, when):
    make_property(house.client)
    answer = post({"client": house.client_id, **when})
    assert answer.status_code == 422
    assert "Choose which" in answer.content.decode()


def test_another_clients_house_is_not_taken(post, house, when):
    make_property(house.client)
    strangers = make_property(make_client("Mara Vane"))
    assert post({"client": house.client_id, "property": strangers.pk, **when}).status_code == 422
    assert not Visit.objects.exists()


def test_without_a_client_the_page_asks_for_one_and_keeps_the_rest(post, when):
    answer = post(when)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Choose who calls" in page
    assert "Hot tub on the upper level." in page


def test_a_taken_hour_is_refused_beside_the_time_and_nothing_is_stored(post, house, when, inspector):
    make_visit(inspector, property=house, starts_at=in_days(2, 9, 30))
    answer = post(
        {
            "client": "new",
            "client-name": "Otis Brankley",
            "property": "new",
            "property-street": "9 Ferry Landing",
            "property-town": "Saltmarsh",
            "property-region": "Maine",
            **when,
        }
    )
    assert answer.status_code == 422
    (words,) = answer.context["form"].errors["time"]
    assert "4 Mill Lane" in words
    assert "9:30 AM to 11:00 AM" in words
    page = answer.content.decode()
    assert "9 Ferry Landing" in page, "what was typed is kept"
    assert (Client.objects.count(), Property.objects.count(), Visit.objects.count()) == (1, 1, 1)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("day", "yesterday", "2027-03-09"),
        ("day", "", "required"),
        ("day", day(-1), "is over"),
        ("day", "0001-01-01", "is over"),
        ("day", "9999-12-31", "Check the year"),
        ("day", "2027-02-30", "2027-03-09"),
        ("time", "25:00", "14:30"),
        ("time", "", "required"),
        ("length_minutes", "0", "15"),
        ("length_minutes", "100000", "600"),
        ("length_minutes", "an hour", "whole number"),
        ("travel_minutes", "-5", "0"),
        ("travel_minutes", "301", "300"),
        ("inspector", "", "required"),
        ("inspector", "99999", "valid choice"),
        ("inspector", "99999999999999999999999", "valid choice"),
        ("inspector", "<b>", "valid choice"),
        ("purpose", "for fun", "valid choice"),
        ("notes", "x" * 5000, "4000"),
        ("notes", "a\x00b", "Null"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_the_rest_is_kept(field, value, words, post, house, when):
    answer = post({"client": house.client_id, "property": house.pk, **when, "purpose": "before_sale", field: value})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert words in " ".join(answer.context["form"].errors[field])
    page = answer.content.decode()
    assert f'name="client" value="{house.client_id}"' in page
    if field != "purpose":
        assert re.search(r'value="before_sale"\s+selected', page)
    assert not Visit.objects.exists()


def test_an_hour_of_today_that_is_over_is_refused(post, house, when, monkeypatch):
    a_minute_late = in_days(2, 10, 1)
    monkeypatch.setattr("inspections.visits.booking.timezone.now", lambda: a_minute_late)
    answer = post({"client": house.client_id, "property": house.pk, **when})
    assert "is over" in answer.context["form"].errors["time"][0]


@pytest.mark.parametrize("field", ["client", "property", "follows", "pick_client", "pick_property", "q"])
@pytest.mark.parametrize("value", ["-1", "99999999999999999999", "x", "²", "\x00", "<b>", "1; DROP"])
def test_made_up_numbers_are_answered_with_a_page(field, value, post, signed_in, office, when):
    assert post({**when, field: value}).status_code in (200, 422)
    assert signed_in(office).get(reverse("visit-book"), {field: value}).status_code == 200


# --- the hours that daylight saving takes and gives ---------------------------------------------------------------


def at_the_change(post, house, when, on, time):
    """Book on the day of a change, seen from the January before it."""
    return post({"client": house.client_id, "property": house.pk, **when, "day": on, "time": time})


@pytest.fixture
def january(monkeypatch, settings):
    from datetime import datetime
    from zoneinfo import ZoneInfo

    settings.TIME_ZONE = "America/New_York"
    now = datetime(2027, 1, 4, 9, tzinfo=ZoneInfo("America/New_York"))
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)


def test_an_hour_that_the_clock_skips_is_refused_in_words(january, post, house, when):
    answer = at_the_change(post, house, when, "2027-03-14", "02:30")
    assert "put forward" in answer.context["form"].errors["time"][0]
    assert not Visit.objects.exists()


def test_an_hour_that_comes_twice_takes_the_first_and_says_so(january, post, house, when, signed_in, office):
    answer = at_the_change(post, house, when, "2027-11-07", "01:30")
    page = signed_in(office).get(answer["Location"]).content.decode()
    assert "comes twice" in page
    assert Visit.objects.get().starts_at.isoformat() == "2027-11-07T05:30:00+00:00"


# --- finding and picking ------------------------------------------------------------------------------------------


def test_searching_shows_the_clients_as_buttons_and_keeps_what_was_typed(post, house, when):
    page = post({**when, "q": "hallam", "find": "1"}).content.decode()
    assert re.search(rf'name="pick_client"\s+value="{house.client_id}"', page)
    assert "Hot tub on the upper level." in page
    assert "errorlist" not in page, "nothing is checked before the last press"


def test_htmx_gets_the_found_clients_alone(post, house, when):
    answer = post({**when, "q": "Halam", "find": "1"}, target="found")
    page = answer.content.decode()
    assert '<div id="found">' in page
    assert "Spelt alike" in page
    assert "<html" not in page


def test_picking_a_client_shows_their_houses(post, house, when):
    second = make_property(house.client, street="17 Quarry Hill Road")
    page = post({**when, "pick_client": house.client_id}, target="who").content.decode()
    assert page.count('type="radio" name="property"') == 2
    assert "17 Quarry Hill Road" in page
    assert f'name="client" value="{second.client_id}"' in page


def test_adding_a_client_starts_with_what_was_searched_for(post, when):
    page = post({**when, "q": "Otis Brankley", "pick_client": "new"}, target="who").content.decode()
    assert re.search(r'name="client-name" value="Otis Brankley"', page)
    page = post({**when, "q": "207 555 0177", "pick_client": "new"}, target="who").content.decode()
    assert re.search(r'name="client-phone" value="207 555 0177"', page)


def test_somebody_with_the_same_number_is_offered_from_the_file(post, house, when):
    fields = {"client": "new", "client-name": "Ines H", "client-phone": "(207) 555-0142", "property": "new"}
    address = {"property-street": "9 Ferry Landing", "property-town": "Saltmarsh", "property-region": "Maine"}
    answer = post({**fields, **address, **when})
    assert answer.status_code == 422
    assert "Take Ines Hallam from the file" in answer.content.decode()
    post({**fields, **address, **when, "client-is_another": "on"})
    assert Visit.objects.get().client.name == "Ines H"


def test_an_address_can_bring_client_house_and_day(signed_in, office, house):
    page = signed_in(office).get(
        reverse("visit-book"), {"client": house.client_id, "property": house.pk, "day": day(3)}
    )
    text = page.content.decode()
    assert f'name="client" value="{house.client_id}"' in text
    assert re.search(rf'name="property" value="{house.pk}" checked', text)
    assert f'value="{day(3)}"' in text


def test_a_visit_after_the_repair_names_the_one_it_follows(signed_in, office, post, house, when, inspector):
    first = make_visit(inspector, property=house, state="released", starts_at=in_days(-20, 9))
    page = signed_in(office).get(reverse("visit-book"), {"follows": first.pk}).content.decode()
    assert f'name="follows" value="{first.pk}"' in page
    assert re.search(r'value="after_repair"\s+selected', page)
    post({"follows": first.pk, "client": house.client_id, "property": house.pk, **when, "purpose": "after_repair"})
    assert Visit.objects.get(purpose="after_repair").follows == first


# --- the day beside the form --------------------------------------------------------------------------------------


def test_the_day_pane_shows_the_inspectors_visits_of_that_day_first(signed_in, office, house, make_person):
    first, other = (make_person("inspector", username=name, last_name=name) for name in ("aster", "birch"))
    make_visit(other, property=house, starts_at=in_days(2, 14))
    make_visit(other, property=make_property(street="8 Alder Street"), starts_at=in_days(3, 14))
    answer = signed_in(office).get(
        reverse("visit-day"), {"day": day(2), "inspector": other.pk}, headers={"HX-Request": "true"}
    )
    page = answer.content.decode()
    assert page.lstrip().startswith('<section class="sheet day-pane" id="day"')
    assert page.index("birch") < page.index("aster")
    assert "2:00 PM to 3:30 PM" in page
    assert "4 Mill Lane" in page
    assert "8 Alder Street" not in page
    assert first.pk


@pytest.mark.parametrize("asked", [{"day": "soon"}, {"day": "0001-01-01"}, {"day": "9999-12-31"}, {"inspector": "x"}])
def test_a_day_that_cannot_be_is_answered_with_today(asked, signed_in, office, inspector):
    answer = signed_in(office).get(reverse("visit-day"), asked)
    assert answer.status_code == 200
    assert answer.context["day"] == timezone.localdate()


def test_the_booking_page_asks_as_much_on_a_full_day(
    signed_in, office, inspector, make_person, django_assert_max_num_queries
):
    from firm.branding.models import Firm

    for number in range(6):
        other = make_person("inspector", username=f"inspector {number}")
        for hour in (8, 11, 14):
            make_visit(other, starts_at=in_days(2, hour))
    browser = signed_in(office)
    Firm.current()
    browser.get(reverse("visit-book"))  # the first page of a sign-in notes the device
    with django_assert_max_num_queries(15):
        browser.get(reverse("visit-book"), {"day": day(2)})

"""Hours of the week, days off, public holidays: written down by the office."""

from datetime import date, datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.hours.forms import public_holidays
from firm.hours.models import Allowances, TimeOff, WorkingHours
from tests.make import make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(signed_in, office):
    return signed_in(office)


def put(browser, person, **times):
    return browser.post(reverse("hours-edit", args=[person.pk]), times)


def test_the_hours_of_a_week_are_stored_with_an_audit_line(browser, inspector):
    answer = put(browser, inspector, starts_0="08:00", ends_0="16:30", starts_3="10:00", ends_3="18:00")
    assert answer["Location"] == reverse("hours")
    rows = WorkingHours.objects.filter(person=inspector).values_list("weekday", "starts", "ends")
    assert list(rows) == [(0, time(8), time(16, 30)), (3, time(10), time(18))]
    assert AuditEntry.objects.about(inspector).get().verb == "changed the hours of"
    page = browser.get(reverse("hours")).content.decode()
    assert "Monday 8:00 AM to 4:30 PM" in page


def test_the_form_shows_the_usual_hours_until_others_are_stored_and_leads_back_to_them(browser, inspector):
    form = browser.get(reverse("hours-edit", args=[inspector.pk])).context["form"]
    assert (form.initial["starts_0"], form.initial.get("starts_5")) == (time(8), None)
    put(browser, inspector, starts_0="08:00", ends_0="16:30")
    put(browser, inspector, usual="1")
    assert not WorkingHours.objects.exists()


@pytest.mark.parametrize(
    ("times", "field", "words"),
    [
        ({"starts_1": "09:00"}, "ends_1", "both times, or neither"),
        ({"starts_1": "09:00", "ends_1": "08:00"}, "ends_1", "end before it begins"),
        ({"starts_1": "9 o'clock", "ends_1": "18:00"}, "starts_1", "08:00"),
        ({}, "__all__", "At least one day"),
    ],
)
def test_hours_that_cannot_be_are_refused_beside_the_day(times, field, words, browser, inspector):
    answer = put(browser, inspector, **times)
    assert answer.status_code == 422
    assert words in answer.context["form"].errors[field][0]
    assert not WorkingHours.objects.exists()


def test_only_who_inspects_has_hours(browser, office):
    assert put(browser, office, starts_0="08:00", ends_0="16:30").status_code == 404


def test_days_off_are_put_on_file_and_visits_in_the_way_are_counted(browser, inspector):
    day = timezone.localdate() + timedelta(days=20)
    make_visit(inspector, starts_at=timezone.make_aware(datetime.combine(day, time(20))))
    fields = {"person": inspector.pk, "first_day": day.isoformat(), "last_day": "", "because": "training"}
    page = browser.post(reverse("time-off-add"), fields, follow=True).content.decode()
    off = TimeOff.objects.get()
    assert (off.person, off.first_day, off.last_day) == (inspector, day, day)
    assert "1 visit booked on these days" in page
    browser.post(reverse("time-off-remove", args=[off.pk]))
    assert not TimeOff.objects.exists()
    assert list(AuditEntry.objects.order_by("pk").values_list("verb", flat=True)) == ["added", "removed"]


@pytest.mark.parametrize(
    ("last", "words"), [("2027-03-08", "before the first"), ("2029-03-09", "more than a year"), ("soon", "valid date")]
)
def test_days_off_that_cannot_be_are_refused(last, words, browser):
    fields = {"first_day": "2027-03-09", "last_day": last, "because": "leave"}
    answer = browser.post(reverse("time-off-add"), fields)
    assert answer.status_code == 422
    assert words in answer.context["off_form"].errors["last_day"][0]


def test_public_holidays_that_are_ticked_become_days_off_of_the_firm_once(browser):
    fields = {"year": 2027, "day": ["2027-05-31", "2027-11-25", "2027-12-22", "nonsense"]}
    for _ in range(2):
        browser.post(reverse("public-holidays"), fields)
    kept = TimeOff.objects.filter(person=None).values_list("first_day", "because")
    assert list(kept) == [(date(2027, 5, 31), "Memorial Day"), (date(2027, 11, 25), "Thanksgiving Day")]


def test_federal_holidays_fall_on_the_days_that_the_law_names():
    """5 U.S.C. 6103(a): the last Monday of May, the first Monday of September, the fourth Thursday of November."""
    for year in range(2025, 2035):
        named = {name: day for day, name in public_holidays(Allowances(), year)}
        assert (named["Memorial Day"].weekday(), (named["Memorial Day"] + timedelta(days=7)).month) == (0, 6)
        assert (named["Labor Day"].weekday(), named["Labor Day"].day <= 7) == (0, True)
        assert (named["Thanksgiving Day"].weekday(), 22 <= named["Thanksgiving Day"].day <= 28) == (3, True)


def test_a_state_adds_its_own_holidays(browser):
    federal = {day for day, _ in public_holidays(Allowances(), 2027)}
    browser.post(reverse("allowances-save"), {"detour": "1.4", "gap_minutes": "30", "country": "us", "state": "ma"})
    kept = Allowances.current()
    assert (str(kept.detour), kept.gap_minutes, kept.country, kept.state) == ("1.40", 30, "US", "MA")
    # Massachusetts General Laws c. 4, s. 7: Patriots' Day is the third Monday of April.
    assert date(2027, 4, 19) in {day for day, _ in public_holidays(kept, 2027)} - federal


@pytest.mark.parametrize(
    ("field", "value"), [("country", "XX"), ("state", "ZZ"), ("detour", "0.5"), ("detour", "9"), ("gap_minutes", "400")]
)
def test_allowances_that_cannot_be_are_refused(field, value, browser):
    fields = {"detour": "1.3", "gap_minutes": "20", "country": "US", "state": "ME", field: value}
    answer = browser.post(reverse("allowances-save"), fields)
    assert answer.status_code == 422
    assert list(answer.context["allowances_form"].errors) == [field]
    assert not Allowances.objects.exists()

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.mail.models import OutgoingMail
from inspections.trends.keeping import rebuild
from inspections.trends.models import ChangeNotice
from inspections.trends.watching import watch
from tests.make import make_visit

pytestmark = pytest.mark.django_db
TODAY = date(2026, 7, 20)  # the second quarter is over and its records are in


@pytest.fixture
def a_year_and_a_quarter(inspector, defects, notice):
    """Nails in 2 of 60 visits of the year before, and in `nailed` of 30 visits of the quarter."""

    def make(nailed):
        def visit(day, has_it):
            at = timezone.make_aware(timezone.datetime(day.year, day.month, day.day, 10))
            one = make_visit(inspector, starts_at=at, state="released")
            if has_it:
                notice(one, "put_right", "ledger and house", defects["nails"])

        for n in range(60):
            visit(date(2025, 4, 2) + timedelta(days=6 * n), n < 2)
        for n in range(30):
            visit(date(2026, 4, 1) + timedelta(days=3 * n), n < nailed)
        rebuild()

    return make


def test_a_rate_that_rose_beyond_chance_is_told_once(a_year_and_a_quarter, manager, office):
    manager.email = "manager@firm.example"
    manager.save()
    a_year_and_a_quarter(15)
    (told,) = watch(TODAY)
    assert (told.count, told.of, told.count_before, told.of_before, told.rose) == (15, 30, 2, 60, True)
    assert watch(TODAY) == watch(TODAY + timedelta(days=30)) == []
    mail = OutgoingMail.objects.get()
    assert mail.to == "manager@firm.example"
    assert "Ledger on nails: 50 % of 30 visits, before 3 % of 60" in mail.text


def test_a_rate_that_moves_as_chance_moves_it_is_not_told(a_year_and_a_quarter, manager):
    a_year_and_a_quarter(4)
    assert watch(TODAY) == []
    assert not ChangeNotice.objects.exists()


def test_a_quarter_is_not_judged_before_its_records_are_in(a_year_and_a_quarter):
    a_year_and_a_quarter(15)
    assert watch(date(2026, 7, 3)) == []


def test_few_visits_tell_nothing(inspector, defects, notice):
    for n in range(5):
        at = timezone.make_aware(timezone.datetime(2026, 5, 1 + n, 10))
        notice(make_visit(inspector, starts_at=at, state="released"), "put_right", "posts", defects["rot"])
    rebuild()
    assert watch(TODAY) == []


def test_the_page_shows_the_notice_until_it_is_put_aside(a_year_and_a_quarter, signed_in, manager):
    a_year_and_a_quarter(15)
    (told,) = watch(TODAY)
    browser = signed_in(manager)
    page = browser.get(reverse("trends")).content.decode()
    assert "was noticed more often from April to June 2026" in page
    behind = (
        page[page.index("/trends/visits/", page.index("was noticed more often")) :].split('"')[0].replace("&amp;", "&")
    )
    assert browser.get(behind).context["page"].paginator.count == 15
    browser.post(reverse("trend-notice-read", args=[told.pk]))
    assert "was noticed more often" not in browser.get(reverse("trends")).content.decode()

from datetime import timedelta

import pytest
from django.utils import timezone

from firm.letters.models import LetterText, Reminders
from firm.mail.models import OutgoingMail
from inspections.visits.reminders import remind
from inspections.visits.services import book_visit, move_visit
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def house():
    return make_property(make_client(email="ines.hallam@example.org"))


def in_hours(hours):
    return timezone.now() + timedelta(hours=hours)


def test_a_visit_is_reminded_of_once(house):
    make_visit(property=house, starts_at=in_hours(23))
    assert [remind(), remind()] == [1, 0]
    mail = OutgoingMail.objects.get()
    assert (mail.kind, mail.to) == ("visit_reminder", "ines.hallam@example.org")


@pytest.mark.parametrize(
    ("hours", "fields"),
    [
        (30, {}),
        (-2, {}),
        (5, {"state": "called_off", "called_off_because": "Rain."}),
        (5, {"state": "under_way"}),
    ],
    ids=["too early", "over", "called off", "begun"],
)
def test_nobody_is_reminded_of(hours, fields, house):
    make_visit(property=house, starts_at=in_hours(hours), **fields)
    assert remind() == 0


def test_nobody_is_reminded_without_an_address_or_when_reminders_are_off(house):
    make_visit(starts_at=in_hours(5))
    assert remind() == 0
    make_visit(property=house, starts_at=in_hours(5))
    Reminders(pk=1, hours_before=0).save()
    assert remind() == 0


def test_the_hours_are_the_firms(house):
    make_visit(property=house, starts_at=in_hours(47))
    Reminders(pk=1, hours_before=48).save()
    assert remind() == 1


def book(house, inspector, starts_at, office):
    return book_visit(client=house.client, property=house, inspector=inspector, starts_at=starts_at, by=office,
                      despite="Tested at any hour.")  # fmt: skip


def test_who_was_told_later_than_the_reminder_would_come_is_not_reminded(house, inspector, office):
    book(house, inspector, in_hours(5), office)
    assert remind() == 0
    assert [mail.kind for mail in OutgoingMail.objects.all()] == ["visit_confirmed"]


def test_a_moved_visit_is_reminded_of_anew(house, inspector, office):
    visit = book(house, inspector, in_days(10, 10), office)
    assert remind(in_days(9, 12)) == 1
    move_visit(visit, starts_at=in_days(12, 10), by=office, despite="Tested on any day.")
    assert [remind(in_days(11, 12)), remind(in_days(11, 13))] == [1, 0]


def test_the_reminder_has_the_firms_words(house):
    LetterText.objects.create(kind="reminder", subject="Soon: {day}", body="{client}: {day}, {clock}. {page}")
    make_visit(property=house, starts_at=in_hours(5))
    remind()
    mail = OutgoingMail.objects.get()
    assert mail.subject.startswith("Soon: ")
    assert mail.text.startswith("Ines Hallam: ")


def test_the_scheduler_asks_for_reminders():
    from firm.celery import app

    app.finalize()
    assert app.conf.beat_schedule["remind"]["task"] in app.tasks

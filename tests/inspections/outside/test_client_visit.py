import re
from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.mail.deliver import compose
from firm.mail.models import OutgoingMail
from firm.web.secret_links import WRONG_TRIES
from inspections.outside.models import Acceptance, Agreement, NeverChanged, TimeWish, VisitLink
from inspections.outside.services import MOST_WISHES, page_address, write_agreement
from inspections.visits.services import book_visit, move_visit
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(inspector):
    return make_visit(inspector, starts_at=in_days(5, 10), property=make_property(make_client(email="i@example.org")))


@pytest.fixture
def token(visit):
    return page_address(visit.pk).rstrip("/").rpartition("/")[2]


@pytest.fixture
def holder(client, token):
    """`holder("confirm", seen=0)` posts as the client does."""

    def post(what="", **fields):
        name = f"client-visit-{what}" if what else "client-visit"
        address = reverse(name, args=[token])
        return client.post(address, fields, HTTP_USER_AGENT="A phone") if what else client.get(address)

    return post


def test_the_page_says_when_where_who_and_what_to_prepare(holder, visit):
    page = holder().content.decode()
    for words in ("10:00 AM", visit.property.street, visit.inspector.display_name, "What to prepare"):
        assert words in page
    assert "keep people off it" in page


def test_nobody_else_gets_to_know_the_address(holder):
    answer = holder()
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "noindex" in answer["X-Robots-Tag"]
    assert answer["Cache-Control"] == "private, no-store"


def test_each_mail_brings_an_address_that_no_row_holds(client, inspector, office):
    house = make_property(make_client(email="ines.hallam@example.org"))
    book_visit(client=house.client, property=house, inspector=inspector, starts_at=in_days(3, 10), by=office,
               despite="Tested on any day.")  # fmt: skip
    mail = OutgoingMail.objects.get()
    addresses = [re.search(r"http\S+/v/\S+", compose(mail).body)[0] for _ in range(2)]
    assert [client.get(address).status_code for address in addresses] == [200, 200]
    for address in addresses:
        token = address.rstrip("/").rpartition("/")[2]
        assert token not in mail.text
        assert not VisitLink.objects.filter(token_hash=token).exists()
    assert VisitLink.objects.count() == 2


def test_a_wrong_address_and_one_whose_visit_is_over_get_the_same_answer(holder, client, visit):
    wrong = client.get(reverse("client-visit", args=["x" * 43]))
    visit.starts_at = timezone.now() - timedelta(days=2)
    visit.save()
    over = holder()
    assert wrong.status_code == over.status_code == 404
    assert wrong.content == over.content


def test_who_guesses_has_to_wait_and_shuts_out_nobody_who_has_the_right_one(holder, client):
    guessed = reverse("client-visit", args=["guessed"])
    for _ in range(WRONG_TRIES):
        assert client.get(guessed).status_code == 404
    assert client.get(guessed).status_code == 429
    assert holder().status_code == 200
    assert holder("confirm", seen=0).status_code == 302


def test_the_client_confirms(holder, visit):
    assert holder("confirm", seen=0).status_code == 302
    visit.refresh_from_db()
    assert visit.confirmed_at
    assert AuditEntry.objects.about(visit).filter(verb="confirmed by the client", by=None).count() == 1
    assert "You have confirmed this time" in holder().content.decode()


def test_a_time_that_the_client_has_not_seen_is_not_confirmed(holder, visit, office):
    move_visit(visit, starts_at=in_days(6, 10), by=office, despite="Tested on any day.")
    assert holder("confirm", seen=0).status_code == 422
    visit.refresh_from_db()
    assert visit.confirmed_at is None


def test_the_wish_for_another_time_stands_at_the_office_until_the_visit_is_moved(holder, visit, office, signed_in):
    holder("confirm", seen=0)
    assert holder("ask", words="A Saturday, please.").status_code == 302
    visit.refresh_from_db()
    assert visit.confirmed_at is None, "it counts as unconfirmed again"
    assert "A Saturday, please." in signed_in(office).get(reverse("home")).content.decode()
    move_visit(visit, starts_at=in_days(6, 10), by=office, despite="Tested on any day.")
    assert "A Saturday, please." not in signed_in(office).get(reverse("home")).content.decode()


def test_the_office_puts_a_wish_aside(holder, office, signed_in, visit):
    holder("ask", words="Later.")
    signed_in(office).post(reverse("time-wish-put-aside", args=[TimeWish.objects.get().pk]))
    assert not TimeWish.objects.unanswered().exists()
    assert AuditEntry.objects.about(visit).filter(by=office, verb="put the client's wish aside").exists()


def test_an_empty_wish_and_endless_ones_are_refused(holder):
    assert holder("ask", words=" ").status_code == 422
    answers = [holder("ask", words="Soon.").status_code for _ in range(MOST_WISHES + 1)]
    assert answers == [302] * MOST_WISHES + [422]


@pytest.mark.parametrize("state", ["called_off", "under_way", "released"])
def test_nothing_is_changed_about_a_visit_that_is_no_longer_booked(state, holder, visit):
    visit.state, visit.called_off_because = state, "Sold." if state == "called_off" else ""
    visit.save()
    assert holder().status_code == 200
    assert holder("confirm", seen=0).status_code == 422
    assert holder("ask", words="Later.").status_code == 422


# --- the agreement ------------------------------------------------------------------------------------------------


@pytest.fixture
def agreement(administrator):
    return write_agreement("We look, measure and probe.", by=administrator)


def accept(holder, version=1, **fields):
    return holder("accept", version=version, name="Ines Hallam", is_accepted="on", **fields)


def test_who_accepted_what_when_and_from_where_is_kept(holder, agreement, visit):
    assert accept(holder).status_code == 302
    kept = Acceptance.objects.get()
    assert (kept.visit, kept.agreement, kept.name) == (visit, agreement, "Ines Hallam")
    assert (kept.address, kept.browser) == ("127.0.0.1", "A phone")
    assert timezone.now() - kept.at < timedelta(minutes=1)
    assert "Accepted by Ines Hallam" in holder().content.decode()


def test_accepting_twice_keeps_the_first(holder, agreement):
    accept(holder)
    first = Acceptance.objects.get()
    accept(holder)
    assert Acceptance.objects.get().at == first.at


@pytest.mark.parametrize("fields", [{"name": ""}, {"name": "12"}, {"is_accepted": ""}, {"version": "x"}])
def test_an_acceptance_without_name_or_tick_is_refused(fields, holder, agreement):
    data = {"version": "1", "name": "Ines", "is_accepted": "on", **fields}
    assert holder("accept", **data).status_code == 422
    assert not Acceptance.objects.exists()


def test_a_text_that_was_changed_meanwhile_must_be_read_again(holder, agreement, administrator):
    assert write_agreement("Another text.", by=administrator).version == 2
    assert accept(holder, version=1).status_code == 422
    assert accept(holder, version=2).status_code == 302


def test_the_same_text_is_no_new_version_and_an_empty_one_asks_for_nothing(holder, agreement, administrator):
    assert write_agreement("We look, measure and probe.\r\n", by=administrator) is None
    write_agreement("", by=administrator)
    assert "Agreement about the visit" not in holder().content.decode()
    assert accept(holder, version=1).status_code == 422


def test_what_was_accepted_is_never_changed(holder, agreement):
    accept(holder)
    kept = Acceptance.objects.get()
    kept.name = "Somebody else"
    for row in (kept, Agreement.objects.get()):
        with pytest.raises(NeverChanged):
            row.save()
        with pytest.raises(NeverChanged):
            row.delete()
    for rows in (Acceptance.objects.all(), Agreement.objects.all()):
        with pytest.raises(DatabaseError), transaction.atomic():
            rows.update(id=99)
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {rows.model._meta.db_table}")


def test_the_visit_shows_the_office_whether_the_agreement_is_accepted(holder, agreement, visit, signed_in, office):
    page = reverse("visit-detail", args=[visit.pk])
    assert "Not accepted yet" in signed_in(office).get(page).content.decode()
    accept(holder)
    assert "Version 1 accepted by Ines Hallam" in signed_in(office).get(page).content.decode()


def test_the_administrator_writes_the_next_version(agreement, administrator, signed_in):
    page = signed_in(administrator)
    assert page.post(reverse("agreement-edit"), {"text": "We look and measure."}).status_code == 302
    assert Agreement.current().version == 2
    assert page.get(reverse("agreement-edit")).status_code == 200


# --- in Spanish -----------------------------------------------------------------------------------------------------


def test_the_page_is_read_in_spanish_and_the_agreement_as_the_firm_wrote_it(holder, visit, manager):
    write_agreement("The visit is visual.", by=manager)
    assert "Español" in holder().content.decode()
    holder("language", language="es")
    page = holder().content.decode()
    assert '<html lang="es">' in page
    for words in ("Su terraza será inspeccionada", "Esta hora me conviene", "Qué preparar", "no está traducido"):
        assert words in page
    assert f"de {timezone.localtime(visit.starts_at).year}" in page
    assert '<div class="agreement-text" lang="en"><p>The visit is visual.</p>' in page


def test_what_is_refused_is_said_in_spanish_and_what_is_done_is_kept_as_ever(holder, visit):
    holder("language", language="es")
    answer = holder("ask", words="")
    assert "Diga qué días u horas le convendrían." in answer.content.decode()
    holder("ask", words="Los martes")
    assert TimeWish.objects.get().words == "Los martes"
    assert "La visita cambió." in holder("confirm", seen="7").content.decode()


def test_the_next_mails_address_opens_in_the_language_that_was_chosen(client, holder, visit, inspector):
    holder("language", language="es")
    holder("language", language="xx")
    again = page_address(make_visit(inspector, property=visit.property).pk)
    assert "Su terraza" in client.get(again.removeprefix("http://127.0.0.1:8000")).content.decode()

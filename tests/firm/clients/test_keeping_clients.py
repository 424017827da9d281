import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.branding.models import Firm
from firm.clients.models import Client
from tests.make import make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


def test_a_client_is_added_with_an_audit_line(signed_in, office):
    answer = signed_in(office).post(
        reverse("client-new"), {"name": " Ines   Hallam ", "phone": "207 555 0142", "email": "ines@example.org"}
    )
    client = Client.objects.get()
    assert answer["Location"] == reverse("client-detail", args=[client.pk])
    assert client.name == "Ines Hallam"
    line = AuditEntry.objects.about(client).get()
    assert (line.verb, line.by, line.after["email"]) == ("added", office, "ines@example.org")


def test_a_change_is_noted_with_what_it_was_before(signed_in, office):
    client = make_client(phone="207 555 0142")
    fields = {"name": client.name, "phone": "207 555 0143"}
    signed_in(office).post(reverse("client-edit", args=[client.pk]), fields)
    line = AuditEntry.objects.about(client).get()
    assert (line.before, line.after) == ({"phone": "207 555 0142"}, {"phone": "207 555 0143"})
    signed_in(office).post(reverse("client-edit", args=[client.pk]), fields)
    assert AuditEntry.objects.about(client).count() == 1, "saving without a change writes no line"


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("name", "", "required"),
        ("name", "   ", "required"),
        ("name", "1234", "letters"),
        ("name", "x" * 200, "120"),
        ("name", "a\x00b", "Null"),
        ("phone", "call me", "digits"),
        ("phone", "555", "7 digits"),
        ("phone", "+1 " + "5" * 30, "7 digits"),
        ("email", "ines at example", "valid"),
        ("email", "a@b@c.org", "valid"),
        ("email", "ines@example.org\nBcc: x@example.org", "valid"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_the_rest_is_kept(field, value, words, signed_in, office):
    fields = {"name": "Ines Hallam", "phone": "207 555 0142", "notes": "Rings twice.", field: value}
    answer = signed_in(office).post(reverse("client-new"), fields)
    assert answer.status_code == 422
    form = answer.context["form"]
    assert words in " ".join(form.errors[field])
    assert list(form.errors) == [field]
    assert "Rings twice." in answer.content.decode()
    assert not Client.objects.exists()


def seen_by(browser, address):
    return browser.get(address).context["form"]["seen"].value()


def test_what_a_colleague_saved_meanwhile_is_not_written_over_unless_one_says_so_again(signed_in, office):
    client = make_client("Ines Hallam", phone="207 555 0142")
    browser, address = signed_in(office), reverse("client-edit", args=[client.pk])
    typed = {"name": "Ines Hallam", "phone": "207 555 0143", "seen": seen_by(browser, address)}
    Client.objects.filter(pk=client.pk).update(phone="207 555 0199")
    answer = browser.post(address, typed)
    client.refresh_from_db()
    assert (answer.status_code, client.phone) == (422, "207 555 0199")
    assert "Somebody changed Ines Hallam after you opened this form" in answer.content.decode()
    assert browser.post(address, {**typed, "seen": answer.context["form"]["seen"].value()}).status_code == 302
    client.refresh_from_db()
    assert client.phone == "207 555 0143"


def test_html_in_a_name_is_shown_as_it_was_typed(signed_in, office, inspector):
    client = make_client('<img src=x onerror="alert(1)">')
    make_visit(inspector, property=make_property(client, street="<script>alert(2)</script> Lane"))
    for address in (reverse("client-list"), reverse("client-detail", args=[client.pk]), reverse("visit-list")):
        page = signed_in(office).get(address).content.decode()
        assert "<img src=x" not in page
        assert "<script>alert" not in page
        assert "&lt;" in page


@pytest.mark.parametrize("same", [{"phone": "(207) 555-0142"}, {"email": "INES@example.org"}])
def test_the_same_number_or_mail_is_pointed_out_and_added_if_it_is_meant(same, signed_in, office):
    make_client("Ines Hallam", phone="207 555 0142", email="ines@example.org")
    answer = signed_in(office).post(reverse("client-new"), {"name": "Otis Hallam", **same})
    assert answer.status_code == 422
    assert "Ines Hallam is on file" in answer.content.decode()
    signed_in(office).post(reverse("client-new"), {"name": "Otis Hallam", "is_another": "on", **same})
    assert Client.objects.count() == 2


def test_the_page_of_a_client_shows_properties_visits_and_history(signed_in, office, inspector):
    client = make_client()
    visit = make_visit(inspector, property=make_property(client, street="4 Mill Lane"))
    page = signed_in(office).get(reverse("client-detail", args=[client.pk])).content.decode()
    assert reverse("visit-detail", args=[visit.pk]) in page
    assert "4 Mill Lane, Harrow Point, Maine" in page


def test_the_page_of_a_client_asks_as_much_for_twenty_visits(
    signed_in, office, inspector, django_assert_max_num_queries
):
    house = make_property()
    for _ in range(20):
        make_visit(inspector, property=house)
    browser = signed_in(office)
    Firm.current()  # made at the first look
    browser.get(reverse("client-detail", args=[house.client_id]))  # the first page of a sign-in notes the device
    with django_assert_max_num_queries(10):
        browser.get(reverse("client-detail", args=[house.client_id]))

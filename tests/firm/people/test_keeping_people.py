import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.people.models import User
from firm.people.services import LastAdministrator, found_first_administrator, save_person

NEW = {
    "username": "pat",
    "first_name": "Pat",
    "last_name": "Marlow",
    "is_inspector": "on",
    "is_active": "on",
    "new_password": "a spirit level 9",
}


def test_the_administrator_adds_a_person_who_can_then_sign_in(signed_in, administrator):
    answer = signed_in(administrator).post(reverse("person-add"), NEW)
    assert (answer.status_code, answer["Location"]) == (302, reverse("people"))
    pat = User.objects.get(username="pat")
    assert pat.check_password("a spirit level 9") and pat.is_inspector and not pat.is_manager


def test_a_weak_password_is_refused(signed_in, administrator):
    answer = signed_in(administrator).post(reverse("person-add"), {**NEW, "new_password": "1234567890"})
    assert answer.status_code == 200
    assert not User.objects.filter(username="pat").exists()


def test_a_change_is_noted_with_what_it_was_and_never_with_the_password(administrator, inspector):
    inspector.phone = "555 0142"
    save_person(inspector, by=administrator, new_password="a spirit level 9")
    entry = AuditEntry.objects.about(inspector).get()
    assert (entry.by, entry.verb) == (administrator, "changed")
    assert entry.before == {"phone": ""}
    assert entry.after == {"phone": "555 0142", "password": "changed"}


def test_saving_without_a_new_password_keeps_the_old_one(signed_in, administrator, inspector):
    fields = {"username": "inspector", "is_inspector": "on", "is_active": "on", "new_password": "", "phone": "555 0142"}
    signed_in(administrator).post(reverse("person-edit", args=[inspector.pk]), fields)
    inspector.refresh_from_db()
    assert inspector.phone == "555 0142" and inspector.check_password("open sesame 12")


def test_the_last_administrator_cannot_give_the_role_away(signed_in, administrator):
    fields = {"username": "administrator", "is_office": "on", "is_active": "on"}
    answer = signed_in(administrator).post(reverse("person-edit", args=[administrator.pk]), fields)
    assert b"must stay administrator" in answer.content
    administrator.refresh_from_db()
    assert administrator.is_administrator and not administrator.is_office
    with pytest.raises(LastAdministrator):
        administrator.is_active = False
        save_person(administrator, by=administrator)


def test_the_first_administrator_is_founded_in_an_empty_firm_only(db):
    assert found_first_administrator("admin", "a spirit level 9")
    assert not found_first_administrator("admin2", "a spirit level 9")
    assert [person.username for person in User.objects.all()] == ["admin"]

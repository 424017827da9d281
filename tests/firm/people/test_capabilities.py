import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.test import RequestFactory

from firm.people.capabilities import Capability, NotAllowed, needs, open_to_all, signed_in
from firm.people.models import User

# From the description of the product, not from the table under test.
MAY = {
    "office": {"book"},
    "inspector": {"record"},
    "manager": {"book", "release", "see_trends"},
    "administrator": {"administer", "book"},
}


@pytest.mark.parametrize("role", MAY)
def test_each_role_may_do_its_own_work_and_no_other(role):
    person = User(**{f"is_{role}": True})
    assert {str(one) for one in Capability if person.may(one)} == MAY[role]


def test_a_manager_who_also_inspects_may_do_both():
    person = User(is_manager=True, is_inspector=True)
    assert person.may(Capability.RECORD) and person.may(Capability.RELEASE)


def test_a_person_without_a_role_may_do_nothing():
    assert User().capabilities == frozenset()


def test_a_person_who_has_left_may_do_nothing():
    assert not User(is_manager=True, is_active=False).may(Capability.RELEASE)


def test_those_who_may_record_are_found_whatever_else_they_do(make_person):
    both = make_person("manager", "inspector")
    one = make_person("inspector")
    make_person("inspector", username="gone", is_active=False)
    make_person("office")
    assert set(User.objects.who_may(Capability.RECORD)) == {both, one}


def test_the_first_superuser_is_an_administrator(db):
    assert User.objects.create_superuser("first", password="open sesame 12").may(Capability.ADMINISTER)


@needs(Capability.BOOK, Capability.RECORD)
def guarded(request):
    return HttpResponse("in")


def asked_by(person, **headers):
    request = RequestFactory().get("/guarded/?day=3", **headers)
    request.user = person
    return request


def test_one_of_the_named_capabilities_is_enough():
    assert guarded(asked_by(User(is_inspector=True))).content == b"in"


def test_the_refusal_says_what_the_page_is_for():
    with pytest.raises(NotAllowed, match="who may book visits or record an inspection"):
        guarded(asked_by(User(is_administrator=False)))


def test_the_signed_out_are_sent_to_sign_in_and_come_back():
    answer = guarded(asked_by(AnonymousUser()))
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/guarded/%3Fday%3D3")


def test_a_fragment_asked_for_by_the_signed_out_takes_the_whole_page_to_sign_in(client, db):
    answer = client.get("/people/", headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/today/"})
    assert (answer.status_code, answer["HX-Redirect"]) == (204, "/sign-in/?next=/today/")


def test_needs_without_a_capability_is_a_mistake():
    with pytest.raises(TypeError):
        needs()
    with pytest.raises(TypeError):
        needs("book")


def test_each_mark_can_be_read_from_outside():
    assert guarded.access == (Capability.BOOK, Capability.RECORD)
    assert signed_in(lambda request: None).access == "signed in"
    assert open_to_all(lambda request: None).access == "open"

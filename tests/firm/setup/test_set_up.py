import pytest
from django.urls import reverse

from firm.audit.models import AuditEntry
from firm.branding.models import Firm
from firm.hours.models import Allowances
from firm.people.models import PasswordMail, User
from firm.rules.models import RuleSet
from firm.setup.models import SetUp
from firm.setup.services import STEPS
from tests.make import make_client

pytestmark = pytest.mark.django_db
HOME = reverse("home")


@pytest.fixture
def page(signed_in, administrator):
    return signed_in(administrator)


def step(name):
    return reverse("set-up-step", args=[name])


FIRM = {"name": "Harrow Point Deck Inspection", "phone": "207 555 0100", "address": "1 Quay\nHarrow Point"}
PERSON = {"username": "wren", "first_name": "Wren", "last_name": "O'Dell", "email": "wren@example.org",
          "is_inspector": "on"}  # fmt: skip
HOURS = {"country": "us", "state": "me", "gap_minutes": "25", "detour": "1.3"}
RULES = {"region": "Maine", "county": "Sele", "edition": "IRC 2021", "live_psf": "40", "ground_snow_psf": "60",
         "frost_depth_in": "48", "soil_psf": "1500", "citation": "Asked at the county office",
         "holds_from": "2026-01-05"}  # fmt: skip


def test_the_first_administrator_is_led_from_step_to_step(page, administrator):
    assert page.get(HOME)["Location"] == reverse("set-up")
    assert page.get(reverse("set-up"))["Location"] == step("firm")
    assert page.post(step("firm"), FIRM)["Location"] == step("clock")
    assert page.post(step("clock"))["Location"] == step("people")
    assert page.post(step("people"), PERSON)["Location"] == step("people"), "another person may follow"
    assert page.post(step("people"), {"skip": "1"})["Location"] == step("hours")
    assert page.post(step("hours"), HOURS)["Location"] == step("rules")
    assert page.post(step("rules"), RULES)["Location"] == reverse("set-up")
    assert "The firm is set up" in page.get(reverse("set-up")).content.decode()
    assert Firm.current().name == FIRM["name"]
    assert User.objects.get(username="wren").is_inspector
    assert PasswordMail.objects.get().person.username == "wren"
    assert (Allowances.current().state, Allowances.current().gap_minutes) == ("ME", 25)
    assert RuleSet.objects.get().frost_depth_in == 48
    assert AuditEntry.objects.about(SetUp.current()).get().by == administrator
    assert page.get(HOME).status_code == 200, "never shown again"


def test_it_can_be_left_and_goes_on_at_the_next_signing_in(page, administrator):
    page.post(step("firm"), FIRM)
    page.post(reverse("set-up-leave"))
    assert page.get(HOME).status_code == 200
    page.logout()
    page.force_login(administrator)
    assert page.get(HOME, follow=True).redirect_chain[-1][0] == step("clock")


def test_a_wrong_entry_stays_at_its_step(page):
    answer = page.post(step("firm"), {**FIRM, "phone": "12"})
    assert answer.status_code == 422
    assert "7 digits or more" in answer.content.decode()
    assert Firm.current().name == "Your firm"
    assert SetUp.current().passed == []


def test_all_steps_may_be_skipped(page):
    for name in STEPS:
        page.post(step(name), {"skip": "1"})
    assert page.get(HOME).status_code == 200
    assert not RuleSet.objects.exists(), "no rule is put there by itself"


def test_a_firm_that_works_already_is_not_asked(page):
    make_client()
    assert page.get(HOME).status_code == 200


def test_nobody_else_is_sent_there(signed_in, office, manager, inspector):
    for person in (office, manager, inspector):
        assert signed_in(person).get(HOME).status_code == 200


@pytest.mark.parametrize("name", STEPS)
def test_every_step_opens(name, page):
    assert page.get(step(name)).status_code == 200


def test_there_is_no_other_step(page):
    assert page.get(step("colours")).status_code == 404

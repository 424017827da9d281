import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.branding.models import Firm
from inspections.visits.models import Visit
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


def day(days):
    return (timezone.localdate() + timedelta(days=days)).isoformat()


# --- the list -----------------------------------------------------------------------------------------------------


def listed(answer):
    return [visit.pk for week in answer.context["weeks"] for visit in week.visits]


@pytest.fixture
def several(inspector, make_person):
    other = make_person("inspector", username="robin")
    return {
        "past": make_visit(inspector, starts_at=in_days(-30, 9), state="released"),
        "soon": make_visit(inspector, starts_at=in_days(8, 9)),
        "later": make_visit(other, starts_at=in_days(9, 9), property=make_property(make_client("Mara Vane"))),
        "off": make_visit(other, starts_at=in_days(20, 9), state="called_off", called_off_because="Sold."),
    }


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ({}, ["soon", "later", "off"]),
        ({"period": "past"}, ["past"]),
        ({"period": "all"}, ["off", "later", "soon", "past"]),
        ({"state": "called_off"}, ["off"]),
        ({"q": "vane"}, ["later"]),
        ({"q": "vane saltmarsh"}, []),
        ({"from_day": day(8), "to_day": day(8)}, ["soon"]),
        ({"to_day": day(0)}, ["past"]),
        ({"state": "no such", "inspector": "-3", "from_day": "x", "period": "?"}, ["soon", "later", "off"]),
    ],
)
def test_the_list_is_narrowed_by_its_address(asked, shown, signed_in, office, several):
    assert listed(signed_in(office).get(reverse("visit-list"), asked)) == [several[name].pk for name in shown]


def test_the_list_of_one_inspector(signed_in, office, several, inspector):
    assert listed(signed_in(office).get(reverse("visit-list"), {"inspector": inspector.pk})) == [several["soon"].pk]


def test_an_inspector_sees_only_his_or_her_own(signed_in, inspector, several):
    answer = signed_in(inspector).get(reverse("visit-list"), {"period": "all"})
    assert listed(answer) == [several["soon"].pk, several["past"].pk]


def test_visits_stand_under_their_weeks(signed_in, office, inspector):
    make_visit(inspector, starts_at=in_days(0, 23))
    make_visit(inspector, starts_at=in_days(7, 9))
    answer = signed_in(office).get(reverse("visit-list"))
    assert [week.words for week in answer.context["weeks"]] == ["This week", "Next week"]


def test_a_visit_late_on_sunday_belongs_to_the_week_that_ends(signed_in, office, inspector):
    """By the firm's clock; in UTC it is Monday already."""
    to_sunday = 6 - timezone.localdate().weekday()
    make_visit(inspector, starts_at=in_days(to_sunday, 23, 30))
    answer = signed_in(office).get(reverse("visit-list"))
    assert [week.words for week in answer.context["weeks"]] == ["This week"]


@pytest.mark.parametrize(
    "asked", [{"from_day": "0001-01-01"}, {"to_day": "9999-12-31"}, {"q": "\x00"}, {"page": "9999"}, {"page": "x"}]
)
def test_choices_that_make_no_sense_are_answered_with_a_page(asked, signed_in, office, several):
    assert signed_in(office).get(reverse("visit-list"), asked).status_code == 200


def test_the_list_is_cut_into_pages_that_keep_the_choices(signed_in, office, inspector):
    house = make_property()
    for number in range(60):
        make_visit(inspector, property=house, starts_at=in_days(10 + number, 9))
    answer = signed_in(office).get(reverse("visit-list"), {"state": "booked"})
    assert len(listed(answer)) == 50
    assert "?state=booked&amp;page=2" in answer.content.decode()
    assert len(listed(signed_in(office).get(reverse("visit-list"), {"state": "booked", "page": "2"}))) == 10


def test_the_number_of_queries_does_not_grow(signed_in, office, inspector, django_assert_max_num_queries):
    for number in range(40):
        make_visit(inspector, starts_at=in_days(10 + number, 9))
    browser = signed_in(office)
    Firm.current()
    with django_assert_max_num_queries(7):
        browser.get(reverse("visit-list"))
    with django_assert_max_num_queries(16):
        browser.get(reverse("home"))


# --- one visit ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["visit-detail", "visit-hand-in"])
def test_anothers_visit_is_not_there_for_an_inspector(name, signed_in, inspector, make_person):
    visit = make_visit(make_person("inspector", username="robin"))
    assert signed_in(inspector).get(reverse(name, args=[visit.pk])).status_code == 404
    assert signed_in(inspector).post(reverse("visit-begin", args=[visit.pk])).status_code == 404


BUTTONS = {  # what each may press; the walk and the review have tests of their own
    ("booked", "office"): {"The client has confirmed", "Move", "Give up the time", "Call off"},
    ("booked", "inspector"): {"Begin the walk"},
    ("under_way", "office"): {"Call off"},
    ("under_way", "inspector"): {"Hand in", "It has not begun: put it back"},
    ("sent_back", "inspector"): {"Hand in"},
    ("handed_in", "office"): set(),
    ("handed_in", "inspector"): set(),
    ("handed_in", "manager"): {"Send back"},
    ("released", "office"): {"Book a visit after the repair"},
    ("called_off", "office"): {"Book another time", "Book it again at this time"},
}
OTHER_ROOMS = {
    "See what is recorded", "Go on with the walk", "Read and release", "Open the record at the release desk",
}  # fmt: skip


@pytest.mark.parametrize(("state", "role"), BUTTONS)
def test_everybody_is_offered_what_they_may_do_next(state, role, request, signed_in, inspector):
    visit = make_visit(inspector, state=state, called_off_because="Sold.", sent_back_because="Look again.")
    answer = signed_in(request.getfixturevalue(role)).get(reverse("visit-detail", args=[visit.pk]))
    assert {button.label for button in answer.context["next"].buttons} - OTHER_ROOMS == BUTTONS[state, role]
    assert answer.context["next"].words


def test_the_page_says_which_rules_apply_and_where_they_are_from(signed_in, office, inspector):
    house = make_property(ground_snow_psf=60, frost_depth_in=48, rules_source="Town office, May 2026")
    page = signed_in(office).get(reverse("visit-detail", args=[make_visit(inspector, property=house).pk]))
    for words in ("60 psf", "48 in", "Town office, May 2026", "The local building authority"):
        assert words in page.content.decode()


def test_the_page_tells_the_history(signed_in, office, inspector):
    from inspections.visits.services import book_visit, move_visit

    house = make_property()
    visit = book_visit(client=house.client, property=house, inspector=inspector, starts_at=in_days(2, 10), by=office)
    move_visit(visit, starts_at=in_days(3, 11), by=office)
    page = signed_in(office).get(reverse("visit-detail", args=[visit.pk])).content.decode()
    history = page[page.index('id="history-head"') :]
    assert re.search(r"office moved .*?starts.*?10:00 AM → .*?11:00 AM", history, re.S)
    assert "booked" in history


def test_moving_from_the_page(signed_in, office, inspector):
    visit = make_visit(inspector)
    fields = {"inspector": inspector.pk, "day": day(4), "time": "15:00", "length_minutes": 60, "travel_minutes": 30}
    answer = signed_in(office).post(reverse("visit-move", args=[visit.pk]), fields)
    assert answer["Location"] == reverse("visit-detail", args=[visit.pk])
    visit.refresh_from_db()
    assert (visit.starts_at, visit.length_minutes) == (in_days(4, 15), 60)


def test_moving_onto_another_visit_is_refused_beside_the_time(signed_in, office, inspector):
    make_visit(inspector, starts_at=in_days(4, 15), property=make_property(street="4 Mill Lane"))
    visit = make_visit(inspector)
    fields = {"inspector": inspector.pk, "day": day(4), "time": "15:00", "length_minutes": 60, "travel_minutes": 30}
    answer = signed_in(office).post(reverse("visit-move", args=[visit.pk]), fields)
    assert answer.status_code == 422
    assert "4 Mill Lane" in answer.context["form"].errors["time"][0]


def test_calling_off_from_the_page_needs_a_reason(signed_in, office, inspector):
    visit = make_visit(inspector)
    address = reverse("visit-call-off", args=[visit.pk])
    for said, beside in (({}, "kind"), ({"kind": "moon"}, "kind"), ({"kind": "other", "because": "  "}, "because")):
        answer = signed_in(office).post(address, said)
        assert (answer.status_code, list(answer.context["form"].errors)) == (422, [beside])
    signed_in(office).post(address, {"kind": "client", "because": "The client is ill."})
    visit.refresh_from_db()
    assert (visit.state, visit.called_off_because) == ("called_off", "The client is ill.")


def test_beginning_from_the_page(signed_in, inspector):
    visit = make_visit(inspector)
    assert signed_in(inspector).post(reverse("visit-begin", args=[visit.pk])).status_code == 302
    visit.refresh_from_db()
    assert visit.state == "under_way"
    assert signed_in(inspector).get(reverse("visit-begin", args=[visit.pk])).status_code == 405


def test_handing_in_with_gaps_lists_them_and_keeps_the_words_for_the_client(signed_in, inspector):
    visit = make_visit(inspector, state="under_way")
    answer = signed_in(inspector).post(reverse("visit-hand-in", args=[visit.pk]), {"summary": "Two posts are soft."})
    assert answer.status_code == 422
    assert "No part of the deck is recorded yet" in answer.content.decode()
    assert "Two posts are soft." in answer.content.decode()
    visit.refresh_from_db()
    assert (visit.state, visit.summary) == ("under_way", "")


def test_handing_in_a_closed_visit_is_refused_in_words(signed_in, inspector):
    visit = make_visit(inspector, state="released")
    answer = signed_in(inspector).post(reverse("visit-hand-in", args=[visit.pk]), {"summary": ""})
    assert answer.status_code == 422
    assert "released already" in answer.content.decode()


def test_sending_back_from_the_page(signed_in, manager, inspector):
    visit = make_visit(inspector, state="handed_in")
    address = reverse("visit-send-back", args=[visit.pk])
    assert signed_in(manager).post(address, {"because": ""}).status_code == 422
    signed_in(manager).post(address, {"because": "<b>Measure</b> the risers."})
    visit.refresh_from_db()
    assert visit.state == "sent_back"
    page = signed_in(inspector).get(reverse("home")).content.decode()
    assert "&lt;b&gt;Measure&lt;/b&gt; the risers." in page


# --- today --------------------------------------------------------------------------------------------------------


def section(page, heading):
    part = page[page.index(heading) :]
    return part[: part.index("</section>")]


def test_the_inspector_sees_what_is_to_be_done(signed_in, inspector):
    back = make_visit(inspector, starts_at=in_days(-3, 9), state="sent_back", sent_back_because="No riser heights.")
    late = make_visit(inspector, starts_at=in_days(-2, 9), state="under_way")
    now = make_visit(inspector, starts_at=in_days(0, 12))
    next_one = make_visit(inspector, starts_at=in_days(1, 9))
    page = signed_in(inspector).get(reverse("home")).content.decode()
    for heading, visit in (
        ("Sent back to you", back),
        ("Your visits today", now),
        ("Still to be handed in", late),
        ("Your next two weeks", next_one),
    ):
        numbers = re.findall(r'href="/visits/(\d+)/"', section(page, heading))
        assert numbers == [str(visit.pk)], heading
    assert "No riser heights." in section(page, "Sent back to you")
    assert reverse("visit-begin", args=[now.pk]) in section(page, "Your visits today")


def test_another_inspectors_visits_are_not_on_the_page(signed_in, inspector, make_person):
    make_visit(make_person("inspector", username="robin"), starts_at=in_days(0, 12), property=make_property(street="X"))
    assert "No visit today" in signed_in(inspector).get(reverse("home")).content.decode()


def test_the_office_sees_both_days_and_what_is_late(signed_in, office, inspector):
    now, tomorrow = make_visit(inspector, starts_at=in_days(0, 12)), make_visit(inspector, starts_at=in_days(1, 9))
    late = make_visit(inspector, starts_at=in_days(-2, 9), state="under_way")
    make_visit(inspector, starts_at=in_days(-2, 14), state="handed_in", handed_in_at=timezone.now())
    page = signed_in(office).get(reverse("home")).content.decode()
    assert f"/visits/{now.pk}/" in section(page, 'id="day-1-head"')
    assert f"/visits/{tomorrow.pk}/" in section(page, 'id="day-2-head"')
    assert f"/visits/{late.pk}/" in section(page, "Not handed in")
    assert "1 record" in section(page, "Reports on the way")
    assert "Release desk" not in page


def test_a_mail_that_was_lost_is_shown_to_the_office(signed_in, office):
    from firm.mail.services import send_mail_later

    mail = send_mail_later(
        to="ines@example.org", subject="Your visit", text="x", kind="visit_confirmed", dedupe_key="k"
    )
    type(mail).objects.filter(pk=mail.pk).update(state="failed", error="no such box", finished_at=timezone.now())
    assert "no such box" in signed_in(office).get(reverse("home")).content.decode()


def test_the_manager_sees_the_release_desk(signed_in, manager, inspector):
    waiting = make_visit(inspector, starts_at=in_days(-2, 14), state="handed_in", handed_in_at=timezone.now())
    page = signed_in(manager).get(reverse("home")).content.decode()
    assert f"/visits/{waiting.pk}/" in section(page, "Release desk: 1 waiting")


def test_every_state_has_words_for_what_comes_next(inspector):
    from inspections.visits.next_steps import next_steps

    for state in Visit.State:
        assert next_steps(
            make_visit(None if state == "asked_for" else inspector, state=state, called_off_because="x"), inspector
        ).words


def test_the_office_sees_visits_whose_rules_nobody_looked_up(signed_in, office, inspector):
    soon = make_visit(inspector, starts_at=in_days(2, 9))
    make_visit(inspector, starts_at=in_days(3, 9), property=make_property(rules_source="Town office"))
    make_visit(inspector, starts_at=in_days(30, 9))
    page = signed_in(office).get(reverse("home")).content.decode()
    assert re.findall(r"/visits/(\d+)/", section(page, "Building rules to look up")) == [str(soon.pk)]


def test_links_are_shown_to_those_who_give_them(signed_in, office, inspector, manager):
    from inspections.reports.models import Report, ReportLink

    visit = make_visit(inspector, state="released")
    now = timezone.now()
    Report.objects.create(visit=visit, version=1, snapshot={}, issued_at=now, issued_by=manager)
    ReportLink.objects.create(
        visit=visit,
        recipient="Ines Hallam",
        token_hash="x" * 64,
        created_by=manager,
        expires_at=now + timedelta(days=9),
    )
    address = reverse("visit-detail", args=[visit.pk])
    assert 'id="links-head"' in signed_in(office).get(address).content.decode()
    assert 'id="links-head"' not in signed_in(inspector).get(address).content.decode()

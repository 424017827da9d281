"""The lists that answer the questions of the day."""

import csv
import io
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.findings.models import Finding
from inspections.reports.models import LinkOpening, ReportLink
from inspections.visits.lists import LISTS
from inspections.visits.models import SavedList, Visit
from inspections.visits.services import WrongState, confirm, move_visit, put_back
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


def on(key):
    return list(LISTS[key].narrow(Visit.objects.all()))


def released(inspector, days_ago, **more):
    visit = make_visit(inspector, starts_at=in_days(-days_ago, 10), state="released", **more)
    Visit.objects.filter(pk=visit.pk).update(released_at=timezone.now() - timedelta(days=days_ago))
    return visit


def test_today_and_tomorrow_by_the_firms_calendar(inspector):
    late = make_visit(inspector, starts_at=in_days(0, 21))
    early = make_visit(inspector, starts_at=in_days(1, 6))
    make_visit(inspector, starts_at=in_days(1, 12), state="called_off", called_off_because="Rain.")
    assert (on("today"), on("tomorrow")) == ([late], [early])


def test_what_the_client_has_confirmed_is_off_the_list_until_it_is_moved(inspector, office):
    visit = make_visit(inspector, starts_at=in_days(8, 10))
    confirm(visit, by=office)
    assert on("unconfirmed") == []
    move_visit(visit, starts_at=in_days(8, 10), length_minutes=120, by=office)
    assert on("unconfirmed") == []
    move_visit(visit, starts_at=in_days(9, 10), by=office)
    assert on("unconfirmed") == [visit]


def test_confirmed_by_mistake_is_taken_back_and_only_a_booked_visit_is_confirmed(signed_in, office, inspector):
    visit = make_visit(inspector)
    address = reverse("visit-confirm", args=[visit.pk])
    page = signed_in(office).post(address, follow=True).content.decode()
    assert "confirmed by the client" in page
    assert "Not confirmed after all" in page
    signed_in(office).post(address, {"undo": "1"})
    visit.refresh_from_db()
    assert visit.confirmed_at is None
    with pytest.raises(WrongState):
        confirm(make_visit(inspector, state="released"), by=office)


def test_begun_by_mistake_is_put_back_while_nothing_is_recorded(inspector):
    visit = make_visit(inspector, state="under_way", begun_at=timezone.now(), basis={"basis": {}})
    visit = put_back(visit, by=inspector)
    assert (visit.state, visit.begun_at, visit.basis) == ("booked", None, None)
    with pytest.raises(WrongState):
        put_back(visit, by=inspector)
    begun = make_visit(inspector, state="under_way")
    make_finding(begun, inspector, "look_after")
    with pytest.raises(WrongState, match="recorded at this visit already"):
        put_back(begun, by=inspector)


def test_what_waits_for_writing_and_for_release(inspector):
    over = make_visit(inspector, starts_at=in_days(-1, 10), state="under_way")
    back = make_visit(inspector, starts_at=in_days(-3, 10), state="sent_back", sent_back_because="No risers.")
    ready = make_visit(inspector, starts_at=in_days(-2, 10), state="handed_in")
    make_visit(inspector, starts_at=in_days(2, 10))
    assert on("to-write-up") == [back, over]
    assert on("to-release") == [ready]


def test_a_report_is_not_opened_until_somebody_reads_the_page_or_takes_the_pdf(inspector, office):
    visit = released(inspector, 3)
    link = ReportLink.objects.create(
        visit=visit, recipient="Ines", token_hash="a" * 64, created_by=office, expires_at=in_days(90, 9)
    )
    LinkOpening.objects.create(link=link, what=LinkOpening.What.WRONG_CODE)
    assert on("not-opened") == [visit]
    LinkOpening.objects.create(link=link, what=LinkOpening.What.PAGE)
    assert on("not-opened") == []


def test_a_visit_whose_report_was_written_on_paper_has_none_to_open(inspector):
    released(inspector, 3)
    assert on("not-opened") == []


def make_finding(visit, by, action="put_right", how_soon="no_date", **more):
    return Finding.objects.create(
        visit=visit, link="joists", title="Notched joist", action=action, how_soon=how_soon, by=by, **more
    )


def test_a_repair_is_due_so_long_after_the_visit_as_the_report_says_and_not_after_a_late_release(inspector):
    visit = released(inspector, 5)
    Visit.objects.filter(pk=visit.pk).update(begun_at=timezone.now() - timedelta(days=70))
    make_finding(visit, inspector, how_soon="three_months")
    assert on("repairs-due") == [visit]


@pytest.mark.parametrize(
    ("how_soon", "days_ago", "is_listed"),
    [
        ("at_once", 1, True), ("two_weeks", 1, True), ("three_months", 40, False), ("three_months", 70, True),
        ("three_months", 200, True), ("one_year", 330, False), ("one_year", 340, True),
    ],
)  # fmt: skip
def test_a_repair_is_listed_thirty_days_before_it_is_due_and_as_long_as_nobody_looked_again(
    how_soon, days_ago, is_listed, inspector
):
    visit = released(inspector, days_ago)
    make_finding(visit, inspector, how_soon=how_soon)
    make_finding(visit, inspector, "look_after")
    make_finding(visit, inspector, "keep_off", "at_once", removed_at=timezone.now())
    assert on("repairs-due") == ([visit] if is_listed else [])
    make_visit(inspector, follows=visit, starts_at=in_days(5, 10))
    assert on("repairs-due") == []


# --- the page -------------------------------------------------------------------------------------------------------


@pytest.fixture
def two(inspector):
    zoe = make_property(make_client("Zoe Adams", phone="+1 207 555 0101"), street="2 Withy Bank", town="Aldham")
    abe = make_property(make_client("=cmd|' /C calc'!A0"), street="@home Lane", town="Zenith")
    return [
        make_visit(inspector, property=zoe, starts_at=in_days(2, 9)),
        make_visit(inspector, property=abe, starts_at=in_days(3, 9)),
    ]


def look(browser, **query):
    return browser.get(reverse("visit-lists", args=["unconfirmed"]), query)


@pytest.mark.parametrize(
    ("sort", "order"),
    [("", [0, 1]), ("-when", [1, 0]), ("client", [1, 0]), ("place", [0, 1]), ("due", [0, 1]), ("x' --", [0, 1])],
)
def test_a_list_is_put_in_order_by_the_address(sort, order, signed_in, office, two):
    page = look(signed_in(office), sort=sort)
    assert list(page.context["page"]) == [two[number] for number in order]


def test_a_list_is_narrowed_by_the_address_and_kept_under_a_name(signed_in, office, manager, two):
    browser = signed_in(office)
    page = look(browser, q="withy", sort="-when", page="1")
    assert list(page.context["page"]) == [two[0]]
    address = f"{reverse('saved-list-add', args=['unconfirmed'])}?{page.context['kept']}"
    for _ in range(2):
        browser.post(address, {"name": "At the bank"})
    saved = SavedList.objects.get()
    assert (saved.person, saved.query) == (office, "q=withy&sort=-when")
    assert "At the bank" in look(browser).content.decode()
    assert browser.get(f"{reverse('visit-lists', args=[saved.which])}?{saved.query}").context["page"][0] == two[0]
    other = signed_in(manager)
    assert "At the bank" not in look(other).content.decode()
    assert other.post(reverse("saved-list-remove", args=[saved.pk])).status_code == 404
    signed_in(office).post(reverse("saved-list-remove", args=[saved.pk]))
    assert not SavedList.objects.exists()


def test_an_inspector_sees_his_or_her_own_only(signed_in, make_person, two):
    assert list(look(signed_in(make_person("inspector", username="robin"))).context["page"]) == []


def test_the_csv_holds_every_row_and_no_cell_that_a_spreadsheet_runs(signed_in, office, two):
    answer = signed_in(office).get(reverse("visit-lists-csv", args=["unconfirmed"]), {"sort": "-when"})
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row["Town"] for row in rows] == ["Zenith", "Aldham"]
    assert rows[0]["Client"] == "'=cmd|' /C calc'!A0"
    assert rows[0]["Street"] == "'@home Lane"
    assert rows[1]["Telephone"] == "'+1 207 555 0101"
    assert rows[1]["From"] == "09:00"


@pytest.mark.parametrize("which", LISTS)
def test_every_list_opens_in_every_order(which, signed_in, office, two):
    for sort in ("when", "-client", "place", "inspector", "-state", "due"):
        answer = signed_in(office).get(reverse("visit-lists", args=[which]), {"sort": sort, "inspector": "x"})
        assert answer.status_code == 200

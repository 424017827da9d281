import re
from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from firm.branding.models import Firm
from firm.hours.models import TimeOff
from inspections.calendar.grid import Block, Column, read_sheet, side_by_side
from inspections.calendar.look import Look
from inspections.visits.travel import Road
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db
KEEPS_HOURS = True


def utc(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.fixture
def sheet(office):
    return lambda view, day, *people: read_sheet(Look(view, date.fromisoformat(day), people), office, Road(30))


@pytest.fixture
def robin(make_person):
    return make_person("inspector", username="robin", first_name="Robin", last_name="Ferris")


def test_every_visit_is_a_link_in_its_column_and_in_the_list(signed_in, office, inspector):
    visit = make_visit(inspector, starts_at=in_days(1, 10), property=make_property(street="4 Mill Lane"))
    day = in_days(1, 10).date().isoformat()
    for view in ("day", "week", "month"):
        page = signed_in(office).get(reverse("calendar"), {"view": view, "day": day}).content.decode()
        assert page.count(f'href="{reverse("visit-detail", args=[visit.pk])}"') == 2
        assert f'id="visit-{visit.pk}"' in page
        assert "style=" not in page


def test_a_call_off_leaves_the_calendar(sheet, inspector):
    visit = make_visit(inspector, starts_at=utc("2027-03-09T15:00"))
    assert sheet("week", "2027-03-09").visit_count == 1
    visit.called_off_because, visit.state = "Rain.", "called_off"
    visit.save()
    assert sheet("week", "2027-03-09").visit_count == 0


def test_the_people_of_the_address_are_shown_and_no_others(sheet, inspector, robin):
    make_visit(inspector, starts_at=utc("2027-03-09T15:00"))
    make_visit(robin, starts_at=utc("2027-03-09T15:00"))
    assert [c.inspector for c in sheet("day", "2027-03-09", robin.pk).columns] == [robin]
    assert sheet("week", "2027-03-09", robin.pk).visit_count == 1
    assert sheet("week", "2027-03-09").visit_count == 2


def test_an_inspector_sees_only_his_or_her_own_and_cannot_move_them(signed_in, inspector, robin):
    make_visit(robin, starts_at=utc("2027-03-09T15:00"), property=make_property(street="8 Kiln Yard"))
    make_visit(inspector, starts_at=utc("2027-03-09T15:00"), property=make_property(street="4 Mill Lane"))
    page = signed_in(inspector).get(reverse("calendar"), {"day": "2027-03-09", "who": robin.pk}).content.decode()
    assert "4 Mill Lane" in page
    assert "8 Kiln Yard" not in page
    assert "data-visit=" not in page


def test_someone_who_left_keeps_a_column_on_the_days_of_their_visits(sheet, inspector, robin):
    make_visit(robin, starts_at=utc("2027-03-09T15:00"))
    robin.is_active = False
    robin.save()
    assert [c.inspector for c in sheet("day", "2027-03-09").columns] == [inspector, robin]
    assert [c.inspector for c in sheet("day", "2027-03-10").columns] == [inspector]


def test_days_off_stand_over_their_day(sheet, inspector, robin):
    TimeOff.objects.create(person=robin, first_day="2027-03-09", last_day="2027-03-10", because="training")
    TimeOff.objects.create(first_day="2027-03-11", last_day="2027-03-11", because="Founders' Day")
    notes = {day.day.day: day.notes for day in sheet("week", "2027-03-09").days}
    assert notes[9] == notes[10] == ["Robin Ferris off: training"]
    assert notes[11] == ["Nobody goes out: Founders' Day"]
    assert notes[12] == []
    columns = {c.inspector: c.notes for c in sheet("day", "2027-03-09").columns}
    assert columns == {inspector: ["8:00 AM to 5:00 PM"], robin: ["Off: training"]}


# --- where a visit stands -----------------------------------------------------------------------------------------


def placed(starts_at, minutes, first_hour=7):
    visit = make_visit(starts_at=starts_at, length_minutes=minutes)
    block = Block(visit)
    (one,) = Column(block.day, None, "", [], [block], first_hour).placed
    return block, one


def test_rows_are_quarters_of_an_hour_from_the_first_hour():
    block, one = placed(utc("2027-01-12T14:30"), 90)  # 9:30 in New York, winter
    assert (block.minute, one.at, one.rows) == (9 * 60 + 30, 10, 6)
    assert (one.way_at, one.way_rows) == (8, 2)


def test_what_begins_between_quarters_covers_those_it_touches():
    _, one = placed(utc("2027-01-12T14:40"), 60)  # 9:40 to 10:40
    assert (one.at, one.rows) == (10, 5)


def test_an_early_and_a_late_visit_widen_the_hours(sheet, inspector):
    make_visit(inspector, starts_at=utc("2027-01-12T10:30"))
    make_visit(inspector, starts_at=utc("2027-01-13T03:00"), length_minutes=90)
    shown = sheet("week", "2027-01-12")
    assert (shown.first_hour, shown.last_hour) == (5, 24)


def test_visits_at_once_stand_side_by_side_and_others_take_the_whole_width(inspector, robin):
    starts = {inspector: "2027-01-12T14:00", robin: "2027-01-12T14:30"}
    blocks = [Block(make_visit(who, starts_at=utc(at))) for who, at in starts.items()]
    blocks.append(Block(make_visit(inspector, starts_at=utc("2027-01-12T19:00"))))
    side_by_side(blocks)
    assert [(block.lane, block.is_alone) for block in blocks] == [(1, False), (2, False), (1, True)]


# --- the two days on which the clock changes (New York) -----------------------------------------------------------


def test_on_the_day_of_twenty_three_hours_a_visit_stands_at_its_hour_on_the_wall(sheet, inspector):
    """March 14, 2027: 2:00 AM becomes 3:00 AM. Ten in the morning is 14:00 UTC, the day before it is 15:00 UTC."""
    before = make_visit(inspector, starts_at=utc("2027-03-13T15:00"))
    after = make_visit(inspector, starts_at=utc("2027-03-14T14:00"))
    shown = sheet("week", "2027-03-14")
    blocks = {block.visit.pk: block for day in shown.days for block in day.blocks}
    assert blocks[before.pk].minute == blocks[after.pk].minute == 600
    assert blocks[after.pk].day == date(2027, 3, 14)
    (sunday,) = [day for day in shown.days if day.day == date(2027, 3, 14)]
    assert "put forward" in sunday.notes[0]


def test_on_the_day_of_twenty_five_hours_the_second_hour_says_so(sheet, inspector, robin):
    """November 7, 2027: 1:30 AM comes at 05:30 and again at 06:30 UTC."""
    make_visit(inspector, starts_at=utc("2027-11-07T05:30"), length_minutes=30)
    make_visit(robin, starts_at=utc("2027-11-07T06:30"), length_minutes=30)
    (day,) = sheet("day", "2027-11-07").days
    assert [block.when for block in day.blocks] == [
        "1:30 AM to 1:00 AM (second time)", "1:30 AM (second time) to 2:00 AM"
    ]  # fmt: skip
    assert "put back" in day.notes[0]
    assert all(block.end_minute > block.minute for block in day.blocks)


@pytest.mark.parametrize(
    ("at", "day"),
    [("2027-03-14T04:59", "2027-03-13"), ("2027-03-15T03:30", "2027-03-14"), ("2027-11-08T04:30", "2027-11-07")],
)
def test_a_visit_near_midnight_belongs_to_the_firms_day(at, day, sheet, inspector):
    make_visit(inspector, starts_at=utc(at), length_minutes=15)
    assert [d.day.isoformat() for d in sheet("month", day).days if d.blocks] == [day]
    assert sheet("day", day).visit_count == 1


# --- the way between two visits -----------------------------------------------------------------------------------


def test_too_little_time_for_the_way_is_said_at_the_visit(sheet, inspector):
    near = make_property(latitude="44.0", longitude="-70.0", street="4 Mill Lane")
    far = make_property(latitude="44.4", longitude="-70.0", street="8 Kiln Yard")
    make_visit(inspector, property=near, starts_at=utc("2027-03-09T14:00"), length_minutes=60)
    make_visit(inspector, property=far, starts_at=utc("2027-03-09T15:30"), length_minutes=60, travel_minutes=20)
    (day,) = sheet("day", "2027-03-09").days
    assert [block.warning for block in day.blocks] == [
        "", "30 minutes are left for the way from 4 Mill Lane: about 75."
    ]  # fmt: skip


# --- quick enough -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("view", ["day", "week", "month"])
def test_the_number_of_queries_does_not_grow(view, signed_in, office, make_person, django_assert_max_num_queries):
    for number in range(12):
        who = make_person("inspector", username=f"inspector-{number}")
        for hour in (9, 12, 15):
            make_visit(who, starts_at=in_days(3, hour), property=make_property(make_client(f"Client {number}")))
    browser = signed_in(office)
    Firm.current()
    browser.get(reverse("calendar"))  # the first page of a sign-in notes the device
    with django_assert_max_num_queries(9):
        answer = browser.get(reverse("calendar"), {"view": view, "day": in_days(3, 9).date().isoformat()})
    assert len(re.findall(r'data-visit="\d+"', answer.content.decode())) == 36


def test_a_part_of_the_page_is_what_the_page_holds(signed_in, office, inspector):
    make_visit(inspector)
    browser = signed_in(office)
    whole = browser.get(reverse("calendar")).content.decode()
    part = browser.get(reverse("calendar"), headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith('<div id="calendar"')
    assert "<html" in whole
    assert "<html" not in part


def test_what_comes_from_a_row_is_never_read_as_markup(signed_in, office, make_person):
    bad = '<script>x</script>"\' onclick="y'
    who = make_person("inspector", username="eve", first_name="<b>Eve</b>", last_name='"x"')
    house = make_property(make_client(bad), street=bad, town=bad)
    make_visit(who, property=house, starts_at=in_days(1, 10))
    make_visit(who, property=house, starts_at=in_days(1, 11), travel_minutes=90, state="released")
    day = in_days(1, 10).date().isoformat()
    for view in ("day", "week", "month"):
        page = signed_in(office).get(reverse("calendar"), {"view": view, "day": day}).content.decode()
        assert "&lt;script&gt;" in page
        for raw in ("<script>x", "<b>Eve", 'onclick="y', '"x"'):
            assert raw not in page

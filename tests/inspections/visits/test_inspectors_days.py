import pytest
from django.template.loader import render_to_string

from inspections.visits.busy import days_of_inspectors
from inspections.visits.clock import firm_today
from tests.make import in_days, make_inspector, make_property, make_visit

pytestmark = pytest.mark.django_db


def drawn(chosen=None):
    return render_to_string(
        "inspections/visits/_inspectors_days.html",
        {"inspectors": days_of_inspectors(firm_today()), "chosen": chosen},
    )


def test_everybody_stands_there_with_the_visits_of_the_day_or_as_free():
    wren, tess = make_inspector(first_name="Wren", last_name="Oakes"), make_inspector(first_name="Tess")
    visit = make_visit(wren, starts_at=in_days(0, 10), state="under_way")
    page = drawn(chosen=tess)
    assert (
        f'<a href="/visits/{visit.pk}/">' in page and "10:00 AM to 11:30 AM" in page and "sets out at 9:40 AM" in page
    )
    assert "under way" in page and page.count("Free all day.") == 1
    (marked,) = [article for article in page.split("</article>") if "is-chosen" in article]
    assert "Tess" in marked and "Wren Oakes" not in marked


def test_no_name_and_no_address_becomes_a_part_of_the_page():
    hostile = "<img src=x onerror=alert(1)>\"'&"
    make_visit(
        make_inspector(first_name=hostile),
        starts_at=in_days(0, 10),
        property=make_property(street=hostile, town=hostile),
    )
    page = drawn()
    assert "<img" not in page and page.count("&lt;img") == 3


def test_a_firm_without_inspectors_is_told_who_can_make_one():
    assert "Nobody inspects yet" in drawn()

import pytest
from django.template.loader import render_to_string
from django.utils import timezone

from inspections.trends.unusual import learn_what_is_usual, unusual_entries
from tests.make import make_visit

pytestmark = pytest.mark.django_db


def span(visit, key, value_in, how="measured"):
    part = visit.parts.create(kind="joist_field", key=key)
    part.readings.create(fact="span_in", value=value_in, how=how, by=visit.inspector, at=timezone.now())


@pytest.fixture
def firm(inspector):
    """Fifty joist spans from 90 to 139 in: the quartiles are 102.25 and 126.75, the fences 28.75 and 200.25."""
    for n in range(5):
        visit = make_visit(inspector, state="released")
        for k in range(10):
            span(visit, f"J{k}", 90 + 10 * n + k)
    assert learn_what_is_usual() == 1
    return inspector


def test_an_entry_far_from_the_firms_own_is_pointed_out(firm):
    visit = make_visit(firm, state="handed_in")
    span(visit, "J1", 1200)
    (entry,) = unusual_entries(visit)
    assert "J1" in entry.words
    assert "50 other measures" in entry.words
    assert entry.link == "joists"
    assert 'href="#link-joists"' in render_to_string("inspections/trends/_unusual.html", {"visit": visit})


@pytest.mark.parametrize(("value_in", "is_told"), [(29, False), (28, True), (200, False), (201, True)])
def test_what_lies_within_the_fences_is_not(firm, value_in, is_told):
    visit = make_visit(firm, state="handed_in")
    span(visit, "J1", value_in)
    assert bool(unusual_entries(visit)) == is_told


def test_an_assumed_value_is_not_compared(firm):
    visit = make_visit(firm, state="handed_in")
    span(visit, "J1", 1200, how="assumed")
    assert unusual_entries(visit) == []


def test_a_young_firm_does_not_know_what_is_usual(inspector):
    visit = make_visit(inspector, state="released")
    span(visit, "J1", 100)
    learn_what_is_usual()
    span(visit, "J2", 1200)
    assert unusual_entries(visit) == []
    assert render_to_string("inspections/trends/_unusual.html", {"visit": visit}).strip() == ""

"""The findings on the drawings of a report: at the part they name, under the number they have in the list."""

import copy

import pytest

from inspections.reports.digest import Digest
from inspections.reports.plan import Drawings, plan_of

pytestmark = pytest.mark.django_db  # the database is there for the report that is drawn once


@pytest.fixture
def drawings(issued):
    """`drawings(place=..., part_key=...)`: the drawings of the record with its first finding changed like that."""

    def draw(**changes):
        snapshot = copy.deepcopy(issued.snapshot)
        snapshot["findings"][0] |= changes
        return plan_of(Digest(snapshot))

    return draw


def test_a_finding_stands_at_the_only_part_it_can_mean(drawings):
    found = drawings()
    assert 'data-finding="1" data-of="J1"' in found.drawings[0]
    assert found.numbered == (1, 2) and found.elsewhere == ()


def test_one_of_a_link_that_has_no_part_is_named_beside_the_drawings(drawings):
    found = drawings(link="posts", check_id="", place="all posts")
    assert found.elsewhere == (1,) and found.numbered == (2,)


def test_a_place_that_names_a_part_is_enough(issued):
    snapshot = copy.deepcopy(issued.snapshot)
    other = copy.deepcopy(next(part for part in snapshot["parts"] if part["key"] == "J1"))
    snapshot["parts"].append({**other, "key": "J2", "name": "lower joists"})  # now the link alone says nothing
    snapshot["findings"][0] |= {"check_id": "", "place": "under J1, at the wall"}
    assert 1 in plan_of(Digest(snapshot)).numbered
    snapshot["findings"][0]["place"] = "at the wall"
    assert 1 in plan_of(Digest(snapshot)).elsewhere


def test_the_numbers_are_said_in_the_printed_report(issued):
    html = issued.html()
    assert "A number in a dark field is that of the finding at this part." in html
    assert 'data-finding="1"' in html and html.index('id="plan"') < html.index('id="findings"')


def test_each_of_several_levels_is_named_over_its_drawing_and_one_alone_is_not():
    assert Drawings(("a", "b"), "", (), (), (), ("level L1", "level L2 (upper)")).by_level == [
        ("level L1", "a"), ("level L2 (upper)", "b"),
    ]  # fmt: skip
    assert Drawings(("a",), "", (), (), (), ("level L1",)).by_level == [("", "a")]

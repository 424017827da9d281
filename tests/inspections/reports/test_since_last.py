"""A visit after a repair beside the one it follows: nothing counts as repaired because nobody speaks of it."""

import pytest

from inspections.findings.models import Finding
from inspections.reports.services import issue_report
from inspections.reports.since_last import since_last
from inspections.reports.snapshot import freeze
from inspections.survey.models import Reading
from tests.inspections.reports.records import add_finding, handed_in_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def first(visit, manager):
    add_finding(visit, "Post leans", "put_right", how_soon="two_weeks", link="posts", place="post P1")
    add_finding(visit, "Guard is loose", "put_right", how_soon="two_weeks", link="edge", place="north side")
    return issue_report(visit, by=manager)


@pytest.fixture
def again(first, inspector):
    return handed_in_visit(inspector, findings=False, property=first.visit.property, follows=first.visit)


def standings(visit):
    return {item["title"]: item for item in freeze(visit)["since_last"]["items"]}


def test_what_nobody_names_again_is_not_called_repaired(again):
    item = standings(again)["Post leans"]
    assert item["standing"] == "not named" and "does not show that it was repaired" in item["because"]


def test_a_part_seen_sound_at_the_same_place_is_repaired(again):
    add_finding(again, "Post stands upright", "sound", link="posts", place="post P1")
    assert standings(again)["Post leans"]["standing"] == "repaired"


def test_a_check_that_fails_still_makes_it_as_before_and_one_that_holds_now_repaired(again):
    assert standings(again)["Joists span too far"]["standing"] == "as before"
    Reading.objects.filter(part__visit=again, fact="span_in").update(value=96.0, typed="8'")
    assert standings(again)["Joists span too far"]["standing"] == "repaired"


def test_a_check_that_fails_by_more_makes_it_worse(again):
    Reading.objects.filter(part__visit=again, fact="span_in").update(value=180.0, typed="15'")
    assert standings(again)["Joists span too far"]["standing"] == "worse"


@pytest.mark.parametrize(
    ("word", "standing"),
    [("keep_off", "worse"), ("put_right", "as before"), ("find_out", "as before"), ("look_after", "better")],
)
def test_a_finding_named_again_stands_as_its_word_says(again, word, standing):
    add_finding(again, "Guard is loose", word, how_soon="at_once", link="edge", place="north side")
    assert standings(again)["Guard is loose"]["standing"] == standing


def test_what_was_not_there_before_is_new_and_the_gravest_stands_first(again):
    add_finding(again, "Board broken", "keep_off", how_soon="at_once", link="surface")
    items = freeze(again)["since_last"]["items"]
    assert standings(again)["Board broken"]["standing"] == "new"
    assert items[0]["standing"] in ("worse", "new")


def test_seen_sound_does_not_outweigh_a_check_that_fails(again):
    add_finding(again, "Joists span too far", "sound", check_id="joist.bending")
    assert standings(again)["Joists span too far"]["standing"] == "as before"


def test_a_record_compared_with_itself_has_nothing_new_and_nothing_repaired(first):
    assert {item["standing"] for item in since_last(first.snapshot, first.snapshot)} == {"as before"}


def test_a_visit_that_follows_none_has_nothing_to_compare(visit):
    assert freeze(visit)["since_last"] is None


def test_the_client_reads_it(again, manager, client):
    from django.urls import reverse

    from inspections.reports.giving import make_link

    Finding.objects.filter(visit=again).delete()
    issue_report(again, by=manager)
    _, token = make_link(again, recipient="Ines", by=manager)
    text = client.get(reverse("client-report", args=[token])).content.decode()
    assert "Since the last visit" in text and "Post leans" in text and "Not named" in text


def test_the_pdf_has_a_chapter_of_it_and_only_then(again, first, manager):
    from inspections.reports.drawing import issue_of
    from inspections.reports.pdf import page_html

    second = issue_report(again, by=manager)
    assert "Since the last visit" in page_html(second.snapshot, issue_of(second), "full")
    assert "Since the last visit" not in page_html(first.snapshot, issue_of(first), "full")

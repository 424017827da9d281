"""Which visits? Every number on every page leads to exactly as many."""

import pytest
from django.urls import reverse

from inspections.demo import history
from tests.inspections.trends.conftest import numbers_with_links

pytestmark = pytest.mark.django_db

ASKED = [
    ("trends", {"cut": "inspector", "link": "edge"}),
    ("trends", {"cut": "county", "action": "put_right", "stands": "attached"}),
    ("trends-changed", {"link": "water"}),
    ("trends-together", {}),
    ("trends-repaired", {}),
    ("trends-repaired", {"action": "put_right", "county": "Sele"}),
    ("trends-measured", {"measure": "guard-height", "cut": "county"}),
    ("trends-measured", {"cut": "inspector"}),
    ("trends-alike", {}),
]


@pytest.fixture
def page_of(planted, signed_in, manager, monkeypatch):
    monkeypatch.setattr(history, "AT_A_TIME", 10)  # so that houses are gone back to in so short a past
    planted(130, scale=0.7, days=400, kinds=history.KINDS)
    browser = signed_in(manager)
    return lambda name, asked: (browser, browser.get(reverse(name), asked))


def test_every_number_opens_as_many_visits(page_of):
    opened = set()
    for name, asked in ASKED:
        browser, page = page_of(name, asked)
        numbers = numbers_with_links(page)
        assert numbers, f"{name} leads nowhere"
        for count, address in sorted(set(numbers) - opened):
            behind = browser.get(address)
            assert behind.context["page"].paginator.count == count, f"{name}: {address}"
            assert f"{count} of" in behind.content.decode()
        opened |= set(numbers)
    assert len(opened) > 200


def test_every_point_of_the_repair_curve_opens_the_visits_repaired_by_then(page_of):
    browser, page = page_of("trends-repaired", {})
    marks = page.context["marks"]
    assert len(marks) > 5 and marks[-1].point == page.context["curve"][-1]
    assert page.content.decode().count('<circle class="point"') == len(marks)
    for mark in marks:
        behind = browser.get(f"{reverse('trend-visits')}?{mark.query}")
        assert behind.context["page"].paginator.count == mark.visits > 0
    assert [mark.visits for mark in marks] == sorted(mark.visits for mark in marks)


def test_pressing_findings_nobody_looked_at_again_open_their_visits(page_of):
    browser, page = page_of("trends-repaired", {})
    known = {}
    for name in ("gone_back_query", "not_gone_back_query", "repaired_query", "open_query"):
        answer = browser.get(f"{reverse('trend-visits')}?{page.context[name]}")
        known[name] = set(answer.context["page"].paginator.object_list)
    assert len(known["gone_back_query"]) == page.context["gone_back"] > 0
    assert len(known["not_gone_back_query"]) == page.context["not_gone_back"] > 0
    assert not known["gone_back_query"] & known["not_gone_back_query"]
    assert known["repaired_query"] | known["open_query"] == known["gone_back_query"]


def test_a_bar_and_the_row_of_its_table_lead_to_the_same_visits(page_of):
    _, page = page_of("trends-measured", {"measure": "guard-height"})
    text = page.content.decode()
    chart = text[text.index('class="histogram"') : text.index("<details", text.index('class="histogram"'))]
    table = text[
        text.index("<details", text.index('class="histogram"')) : text.index(
            "</details>", text.index('class="histogram"')
        )
    ]
    bars = [line.split('"')[0] for line in chart.split('href="')[1:]]
    cells = [line.split('"')[0] for line in table.split('href="')[1:]]
    assert bars == cells != []


def test_the_list_shows_the_findings_that_were_counted(page_of, signed_in, manager):
    browser, _ = page_of("trends", {})
    page = browser.get(reverse("trend-visits"), {"defect": "guard-too-low"})
    visits = list(page.context["visits"])
    assert visits
    for visit in visits:
        assert [finding.defect.slug for finding in visit.findings.all()] == ["guard-too-low"]

"""Which visits? Every number on every page leads to exactly as many."""

import pytest
from django.urls import reverse

from tests.inspections.trends.conftest import numbers_with_links

pytestmark = pytest.mark.django_db

ASKED = [
    ("trends", {"cut": "inspector", "link": "edge"}),
    ("trends", {"cut": "county", "action": "put_right", "stands": "attached"}),
    ("trends-changed", {"link": "water"}),
    ("trends-together", {}),
    ("trends-measured", {"measure": "guard-height", "cut": "county"}),
    ("trends-measured", {"cut": "inspector"}),
    ("trends-alike", {}),
]


@pytest.fixture
def page_of(planted, signed_in, manager):
    planted(130, scale=0.7, days=400)
    browser = signed_in(manager)
    return lambda name, asked: (browser, browser.get(reverse(name), asked))


def test_every_number_opens_as_many_visits(page_of):
    for name, asked in ASKED:
        browser, page = page_of(name, asked)
        numbers = numbers_with_links(page)
        assert numbers, f"{name} leads nowhere"
        # One of each kind of number, and a few more: a page has hundreds.
        for count, address in numbers[:: max(1, len(numbers) // 8)]:
            behind = browser.get(address)
            assert behind.context["page"].paginator.count == count, f"{name}: {address}"
            assert f"{count} of" in behind.content.decode()


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

"""The manager's pages of numbers: readable at every size, and every bar a way to its visits."""

import re

import pytest
from django.urls import reverse

from inspections.demo.history import plant
from inspections.findings.catalogue import load_catalogue
from inspections.trends.keeping import rebuild
from tests.browser.looks import faults_of

PAGES = ["trends", "trends-changed", "trends-together", "trends-repaired", "trends-measured", "trends-alike"]


@pytest.fixture
def past(inspector):
    """The firm's past: a hundred visits with known rates."""
    load_catalogue()
    plant(100, [inspector], days=300, scale=0.6, kinds=("level",))
    rebuild()


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_every_page_is_as_it_should_be(size, open_page, manager, past):
    page = open_page(size, manager)
    for name in PAGES:
        page.goto(reverse(name))
        assert faults_of(page) == [], name


def test_a_bar_opens_its_visits_and_a_choice_stays_in_the_address(open_page, manager, past):
    page = open_page("tablet", manager)
    page.goto(reverse("trends-measured"))
    page.get_by_label("What was measured").select_option("guard-height")
    page.wait_for_url(re.compile("measure=guard-height"))
    bar = page.locator("svg.histogram a").first
    count = int(bar.get_attribute("aria-label").split(": ")[1].split()[0])
    bar.click()
    page.wait_for_url(re.compile("/trends/visits/"))
    assert f"{count} of 100 visits" in page.locator("main").inner_text()
    assert faults_of(page) == []

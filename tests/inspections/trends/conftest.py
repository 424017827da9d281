import re
from html import unescape

import pytest

from inspections.findings.models import Defect


@pytest.fixture
def defects(db):
    """Two entries of our own: the catalogue may be there already."""

    def make(slug, link, title):
        return Defect.objects.create(slug=slug, link=link, title=title, meaning="Invented for the test.")

    return {
        "nails": make("t-nails", "ledger and house", "Ledger on nails"),
        "rot": make("t-rot", "posts", "Rotten foot"),
    }


@pytest.fixture
def notice():
    """`notice(visit, action, link, defect=None)`: a finding of a visit."""

    def make(visit, action, link, defect=None, title="Something", **fields):
        soon = "two_weeks" if action in ("keep_off", "put_right") else "no_date"
        return visit.findings.create(
            action=action, link=link, defect=defect, title=title, how_soon=soon, by=visit.inspector, **fields
        )

    return make


@pytest.fixture
def planted(db, make_person):
    """`planted(count)`: visits with known rates in them, counted; and the inspectors, the last one lenient."""
    from inspections.demo.history import plant
    from inspections.findings.catalogue import load_catalogue
    from inspections.trends.keeping import rebuild

    def make(count, **more):
        load_catalogue()
        people = [make_person("inspector", username=f"planted-{n}", first_name=name) for n, name in enumerate("ABC")]
        told = plant(count, people, **{"kinds": ("level",), **more})
        rebuild()
        return told, people

    return make


def numbers_with_links(page):
    """Every (number, address) on a page of numbers: the count that a link shows and where it leads.

    Not those of decks that two inspectors saw: each of them opens two visits (see `test_judging`).
    """
    text = page.content.decode()
    found = []
    for address, inside in re.findall(r'<a[^>]* href="(/trends/visits/\?[^"]*)"[^>]*>(.*?)</a>', text, re.S):
        if (count := re.match(r"(?:<strong>)?(\d+)", inside.strip())) and "min" not in inside[:12]:
            found.append((int(count[1]), unescape(address)))
    for address, label in re.findall(r'<a href="(/trends/visits/\?[^"]*)" aria-label="[^"]*?: (\d+)', text):
        found.append((int(label), unescape(address)))
    return [one for one in found if "twice=" not in one[1]]

"""The client's page in Spanish, read word by word beside the English one: all that is ours is said in Spanish.

What somebody wrote in words of their own stays as it is and is marked as English; names, keys and hashes are the same
in every language.
"""

import re

import pytest
from django.utils import timezone

from inspections.demo.load import _record_deck
from inspections.demo.story import HILLS, Told
from inspections.photos.models import Photo
from inspections.reports.giving import make_link
from inspections.reports.services import issue_report
from inspections.visits.models import Visit
from tests.inspections.reports.records import add_finding, add_photo
from tests.make import make_client, make_property, make_visit

# Of the demo's decks those that share the fewest sentences; the others are read in tests/inspections/spanish.
UNLIKE = (
    "raised_on_a_slope", "second_storey_balcony", "hot_tub_deck", "two_levels_with_stairs", "by_the_salt_water",
    "against_brick", "just_begun",
)  # fmt: skip
HOUSE = {"town": "Quillan Harbor", "street": "9 Tannery Yard", "county": "Harrow"}
# Everything that is said or read aloud, outside what is marked as English.
READ = """() => {
    document.querySelectorAll("details").forEach(each => { each.open = true });
    const found = new Set(), kinds = NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT;
    const walker = document.createTreeWalker(document, kinds);
    for (let node = walker.currentNode; node; node = walker.nextNode()) {
        const element = node.nodeType === Node.TEXT_NODE ? node.parentElement : node;
        if (!element?.closest || element.closest("script, style") || element.closest('[lang="en"]:not(html)')) continue;
        const said = node.nodeType === Node.TEXT_NODE
            ? [node.textContent]
            : ["aria-label", "alt", "title", "data-is", "placeholder"].map(name => element.getAttribute(name));
        for (const words of said) if (words?.trim()) found.add(words.trim().replace(/\\s+/g, " "));
    }
    return [...found];
}"""
ENGLISH = re.compile(
    r"\b(the|of|and|with|from|each|below|above|is|are|was|not|at|by|to|for|least|most|over|front|left|right|house)\b",
    re.I,
)
SAME = re.compile(r"[\d\W]*|[A-Z]{1,2}\d+( \?)?|[0-9a-f]{64}|\S+@\S+|\(?\d+x\d+\)?\.?")


@pytest.fixture
def addresses(open_page, live_server, inspector, manager, monkeypatch):
    """`addresses(deck, kind)`: the page of an issued report about a demo deck, in English and in Spanish."""
    for module in ("reports.services", "reports.giving", "photos.services"):
        monkeypatch.setattr(f"inspections.{module}.ring", lambda job: None)
    visits = {}

    def given(deck, kind):
        if deck not in visits:
            visits[deck] = _issued(deck, inspector, manager)
        for language in ("en", "es"):
            _, token = make_link(visits[deck], recipient="Ines", by=manager, kind=kind, language=language)
            yield f"{live_server.url}/r/{token}/"

    return given


def _issued(deck, inspector, manager):
    house = make_property(make_client("Ines Hallam"), **{k: v for k, v in HILLS.items() if k != "county"}, **HOUSE)
    visit = make_visit(inspector, state="under_way", begun_at=timezone.now(), property=house, summary="")
    told = Told(
        key="", client=("", "", ""), street="", town="", postcode="", rules=HILLS, year_built=1990, deck_year=1990,
        builder="", day=0, hour=9, until="", deck=deck, assumed=frozenset({"species", "grade"}),
    )  # fmt: skip
    _record_deck(told, visit, inspector)
    own = {"seen": "It gives.", "meaning": "It may fall.", "remedy": "Mend it."}
    loose = add_finding(visit, "Loose everywhere", "limit_use", how_soon="two_weeks", place="the near side", **own)
    add_finding(visit, "A joist to look at", "find_out", how_soon="three_months", who="engineer", **own)
    photo = add_photo(visit, inspector, finding=loose, caption="Seen from the lawn")
    add_photo(visit, inspector, seed=2)
    arrow = {"kind": "arrow", "x1": 0.2, "y1": 0.2, "x2": 0.6, "y2": 0.6, "text": ""}
    Photo.objects.filter(pk=photo.pk).update(marks={"width_px": 400, "height_px": 300, "marks": [arrow]})
    Visit.objects.filter(pk=visit.pk).update(state="handed_in", handed_in_at=timezone.now())
    issue_report(Visit.objects.get(pk=visit.pk), by=manager)
    return Visit.objects.get(pk=visit.pk)


@pytest.mark.parametrize(
    ("deck", "kind"),
    [*((deck, "full") for deck in UNLIKE), ("raised_on_a_slope", "schedule"), ("small_landing", "engineer")],
)
def test_nothing_of_ours_is_left_in_english(phone, addresses, deck, kind, inspector):
    page = phone()
    read = []
    for address in addresses(deck, kind):
        page.goto(address)
        page.locator("main").wait_for()
        read.append(set(page.evaluate(READ)))
    english, spanish = read
    assert len(english) > 60 and len(spanish) > 60
    own = re.compile(
        "|".join(map(re.escape, [*HOUSE.values(), "Your firm", inspector.display_name, "loose everywhere", "Mend it"])),
        re.I,
    )
    left = {
        words
        for words in spanish
        if not SAME.fullmatch(own.sub("", words))
        and (words in english or ENGLISH.search(re.sub(r"\([^()]*\)", "", own.sub("", words))))
    }
    assert left == set()

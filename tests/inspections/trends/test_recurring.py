import re
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.trends.keeping import rebuild
from tests.make import in_days, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def four_visits(inspector, make_person, defects, notice):
    """Three of one inspector, one of another; a fifth is still under way and must not count."""
    other = make_person("inspector", username="robin", first_name="Robin", last_name="Ash")
    visits = [
        make_visit(inspector, starts_at=in_days(-40, 10), state="released"),
        make_visit(inspector, starts_at=in_days(-20, 10), state="released"),
        make_visit(inspector, starts_at=in_days(-10, 10), state="handed_in"),
        make_visit(other, starts_at=in_days(-5, 10), state="released"),
    ]
    notice(visits[0], "keep_off", "ledger and house", defects["nails"], "North ledger on nails")
    notice(visits[1], "put_right", "ledger and house", defects["nails"], "Ledger on nails")
    notice(visits[1], "put_right", "posts", defects["rot"], "First post")
    notice(visits[1], "put_right", "posts", defects["rot"], "Second post")
    notice(visits[2], "sound", "beam", None, "Good beam")
    notice(visits[2], "look_after", "water", None, "Leaves in the gaps", removed_at=timezone.now())
    notice(visits[3], "look_after", "water", None, "Leaves between boards")
    under_way = make_visit(inspector, starts_at=in_days(-3, 10), state="under_way")
    notice(under_way, "keep_off", "ledger and house", defects["nails"], "Not yet handed in")
    rebuild()
    return visits


def rows(answer, section):
    """{label: (count, n)} of the table under a heading of the page."""
    page = answer.content.decode()
    part = page[page.index(f'id="{section}"') :]
    part = part[: part.index("</section>")]
    found = {}
    for row in re.findall(r'<tr>\s*<th scope="row">(.*?)</tr>', part, re.S):
        label = re.sub(r"<svg.*?</svg>", "", row, flags=re.S)
        label = re.sub(r"<[^>]+>", " ", label.split("</th>")[0].split('<span class="soft note">')[0]).strip()
        numbers = re.sub(
            r"<span class=\"visually-hidden\">.*?</span>|<[^>]+>", "", row.rsplit('class="number visits">')[1]
        )
        found[unescape(label)] = tuple(int(number) for number in numbers.split(" of "))
    return found


def test_a_visit_counts_once_for_a_link_however_many_findings_it_has(signed_in, manager, four_visits):
    counted = rows(signed_in(manager).get(reverse("trends")), "links-head")
    assert {label: row for label, row in counted.items() if row[0]} == {
        "Ledger and house": (2, 4),
        "Posts": (1, 4),
        "Water": (1, 4),
    }
    assert len(counted) == 9, "links at which nothing recurs are shown too"


def test_defects_are_counted_most_frequent_first_and_own_words_last(signed_in, manager, four_visits):
    counted = rows(signed_in(manager).get(reverse("trends")), "defects-head")
    assert list(counted.items()) == [
        ("Ledger on nails", (2, 4)),
        ("Rotten foot", (1, 4)),
        ("Water, in the inspector's own words", (1, 4)),
    ]


def test_sound_is_counted_only_when_asked_for(signed_in, manager, four_visits):
    page = signed_in(manager).get(reverse("trends"), {"action": "sound"})
    assert {label: row[0] for label, row in rows(page, "links-head").items() if row[0]} == {"Beam": 1}


def test_action_words_are_counted_for_what_was_chosen(signed_in, manager, four_visits):
    page = signed_in(manager).get(reverse("trends"), {"defect": "t-nails"})
    assert {label: row for label, row in rows(page, "words-head").items() if row[0]} == {
        "Keep off": (1, 4),
        "Put right": (1, 4),
    }


def test_the_period_and_the_inspector_narrow_visits_and_findings_alike(signed_in, manager, inspector, four_visits):
    start = (timezone.localdate() - timedelta(days=25)).isoformat()
    page = signed_in(manager).get(reverse("trends"), {"from_day": start, "inspector": inspector.pk})
    assert rows(page, "links-head")["Ledger and house"] == (1, 2)
    end = (timezone.localdate() - timedelta(days=20)).isoformat()
    page = signed_in(manager).get(reverse("trends"), {"from_day": start, "to_day": end})
    assert rows(page, "links-head")["Posts"] == (1, 1), "the last day of the period is in it"


def test_decks_are_set_apart_by_age_and_by_town(signed_in, manager, four_visits):
    for visit, year, town in zip(four_visits, (1994, 1999, 2004, None), ("Saltmarsh",) * 3 + ("Ayr",), strict=True):
        visit.property.deck_year_built, visit.property.town = year, town
        visit.property.save()
    rebuild()
    browser = signed_in(manager)
    decades = rows(browser.get(reverse("trends"), {"cut": "decade"}), "groups-head")
    assert list(decades.items()) == [("1990 to 1999", (2, 2)), ("2000 to 2009", (0, 1)), ("Not known", (1, 1))]
    towns = rows(browser.get(reverse("trends"), {"cut": "town"}), "groups-head")
    assert towns == {"Saltmarsh": (2, 3), "Ayr": (1, 1)}


def test_cuts_are_combined(signed_in, manager, inspector, four_visits):
    four_visits[0].property.deck_builder = "Larch"
    four_visits[0].property.save()
    rebuild()
    page = signed_in(manager).get(reverse("trends"), {"builder": "Larch", "inspector": inspector.pk, "height": "-"})
    assert page.context["visit_count"] == 1
    page = signed_in(manager).get(reverse("trends"), {"builder": "Larch", "exposure": "salt"})
    assert page.context["visit_count"] == 0
    assert b"No visit that is handed in or released fits" in page.content


def test_the_visits_behind_a_number_show_only_the_findings_that_were_counted(signed_in, manager, four_visits):
    page = signed_in(manager).get(reverse("trend-visits"), {"link": "posts"}).content.decode()
    assert "First post" in page
    assert "Second post" in page
    assert "Ledger on nails" not in page


@pytest.mark.parametrize(
    "asked",
    [
        {"from_day": "yesterday"},
        {"from_day": "0001-01-01"},
        {"to_day": "9999-12-31"},
        {"from_day": "2027-02-01", "to_day": "2027-01-01"},
        {"action": "x"},
        {"inspector": "x"},
        {"defect": "no-such", "also": "x", "check": "x", "grade": "x", "twice": "x", "single": "x", "repaired_by": "x"},
        {"cut": "x", "decade": "x", "measure": "x", "own": "x"},
        {"builder": "x" * 200},
    ],
)
@pytest.mark.parametrize(
    "name",
    [
        "trends",
        "trends-changed",
        "trends-together",
        "trends-repaired",
        "trends-measured",
        "trends-alike",
        "trend-visits",
    ],
)
def test_what_cannot_be_read_is_said_and_breaks_nothing(asked, name, signed_in, manager, four_visits):
    assert signed_in(manager).get(reverse(name), asked).status_code == 200


@pytest.mark.parametrize(
    "name", ["trends", "trends-changed", "trends-together", "trends-repaired", "trends-measured", "trends-alike"]
)
def test_a_firm_without_a_visit_gets_a_page_that_says_so(name, signed_in, manager):
    assert signed_in(manager).get(reverse(name)).status_code == 200


def test_htmx_gets_the_numbers_alone(signed_in, manager, four_visits):
    page = signed_in(manager).get(reverse("trends"), headers={"HX-Request": "true"}).content.decode()
    assert page.lstrip().startswith('<div id="numbers"')
    assert "<html" not in page

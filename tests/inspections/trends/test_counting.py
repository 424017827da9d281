import re
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from django.urls import reverse
from django.utils import timezone

from firm.branding.models import Firm
from inspections.findings.models import Defect
from tests.make import in_days, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def defects(db):
    def make(slug, link, title):
        return Defect.objects.create(slug=slug, link=link, title=title, meaning="Invented for the test.")

    # The catalogue may be there already: names of our own.
    return {
        "nails": make("t-nails", "ledger and house", "Ledger on nails"),
        "rot": make("t-rot", "posts", "Rotten foot"),
    }


def notice(visit, action, link, defect=None, title="Something", **fields):
    soon = "two_weeks" if action in ("keep_off", "put_right") else "no_date"
    return visit.findings.create(
        action=action, link=link, defect=defect, title=title, how_soon=soon, by=visit.inspector, **fields
    )


@pytest.fixture
def four_visits(inspector, make_person, defects):
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
    return visits


def rows(answer, section):
    """{label: (count, n, address)} of the table under a heading of the page."""
    page = answer.content.decode()
    part = page[page.index(f'id="{section}"') :]
    part = part[: part.index("</section>")]
    found = {}
    for row in re.findall(r'<tr>\s*<th scope="row">(.*?)</tr>', part, re.S):
        label = re.split(r"<", row, maxsplit=1)[0].strip()
        count, of = re.search(r"(\d+) of (\d+)", row).groups()
        link = re.search(r'href="([^"]+)"', row)
        found[label] = (int(count), int(of), link[1].replace("&amp;", "&") if link else "")
    return found


def test_a_visit_counts_once_for_a_link_however_many_findings_it_has(signed_in, manager, four_visits):
    counted = rows(signed_in(manager).get(reverse("trends")), "links-head")
    assert {label: row[:2] for label, row in counted.items() if row[0]} == {
        "Ledger and house": (2, 4),
        "Posts": (1, 4),
        "Water": (1, 4),
    }
    assert len(counted) == 9, "links at which nothing recurs are shown too"


def test_defects_are_counted_most_frequent_first_and_own_words_last(signed_in, manager, four_visits):
    counted = rows(signed_in(manager).get(reverse("trends")), "defects-head")
    assert [(label, *row[:2]) for label, row in counted.items()] == [
        ("Ledger on nails", 2, 4),
        ("Rotten foot", 1, 4),
        ("In the inspector&#x27;s own words", 1, 4),
    ]


def test_sound_is_counted_only_when_asked_for(signed_in, manager, four_visits):
    page = signed_in(manager).get(reverse("trends"), {"action": "sound"})
    assert {label: row[0] for label, row in rows(page, "links-head").items() if row[0]} == {"Beam": 1}


def test_the_period_and_the_inspector_narrow_visits_and_findings_alike(signed_in, manager, inspector, four_visits):
    start = (timezone.localdate() - timedelta(days=25)).isoformat()
    page = signed_in(manager).get(reverse("trends"), {"from_day": start, "inspector": inspector.pk})
    assert rows(page, "links-head")["Ledger and house"][:2] == (1, 2)
    end = (timezone.localdate() - timedelta(days=20)).isoformat()
    page = signed_in(manager).get(reverse("trends"), {"from_day": start, "to_day": end})
    assert rows(page, "links-head")["Posts"][:2] == (1, 1), "the last day of the period is in it"


@pytest.mark.parametrize("asked", [{}, {"action": "keep_off"}, {"action": "put_right"}, {"from_day": "2000-01-01"}])
def test_behind_every_number_stand_as_many_visits(asked, signed_in, manager, four_visits):
    browser = signed_in(manager)
    page = browser.get(reverse("trends"), asked)
    opened = 0
    for section in ("links-head", "defects-head", "decades-head", "towns-head"):
        if f'id="{section}"' not in page.content.decode() or "shares" not in page.content.decode():
            continue
        for count, of, address in rows(page, section).values():
            if address:
                assert {
                    name: value[0] for name, value in parse_qs(urlsplit(address).query).items()
                }.items() >= asked.items()
                behind = browser.get(address)
                assert behind.context["page"].paginator.count == count
                assert behind.context["visit_count"] == of
                opened += 1
    assert opened


def test_decks_are_set_apart_by_age_and_by_town(signed_in, manager, four_visits):
    for visit, year, town in zip(four_visits, (1994, 1999, 2004, None), ("Saltmarsh",) * 3 + ("Ayr",), strict=True):
        visit.property.deck_year_built, visit.property.town = year, town
        visit.property.save()
    page = signed_in(manager).get(reverse("trends"))
    decades = {label: row[:2] for label, row in rows(page, "decades-head").items()}
    assert list(decades.items()) == [("1990 to 1999", (2, 2)), ("2000 to 2009", (0, 1)), ("Not known", (1, 1))]
    towns = {label: row[:2] for label, row in rows(page, "towns-head").items()}
    assert list(towns.items()) == [("Saltmarsh", (2, 3)), ("Ayr", (1, 1))]


def test_the_visits_behind_a_number_show_only_the_findings_that_were_counted(signed_in, manager, four_visits):
    page = signed_in(manager).get(reverse("trend-visits"), {"link": "posts"}).content.decode()
    assert "First post" in page
    assert "Second post" in page
    assert "Ledger on nails" not in page


def test_two_inspectors_are_set_side_by_side(signed_in, manager, four_visits):
    judges = signed_in(manager).get(reverse("trends")).context["judges"]
    by_name = {judge.name: (judge.visit_count, {word: share.count for word, share in judge.words}) for judge in judges}
    assert by_name["Robin Ash"] == (1, {"keep_off": 0, "put_right": 0, "look_after": 1})
    assert by_name["inspector"] == (3, {"keep_off": 1, "put_right": 1, "look_after": 0})


@pytest.mark.parametrize(
    "asked",
    [
        {"from_day": "yesterday"},
        {"from_day": "0001-01-01"},
        {"to_day": "9999-12-31"},
        {"from_day": "2026-05-01", "to_day": "2026-04-01"},
        {"action": "explode"},
        {"inspector": "999999999999999999999999"},
        {"inspector": "<b>"},
        {"defect": "x' OR 1=1"},
        {"link": "\x00"},
        {"page": "-7"},
        {"decade": "-10"},
        {"decade": "99999999999999999999"},
        {"town": "x" * 500},
    ],
)
def test_choices_that_make_no_sense_are_answered_with_a_page(asked, signed_in, manager, four_visits):
    for name in ("trends", "trend-visits"):
        assert signed_in(manager).get(reverse(name), asked).status_code == 200


def test_an_empty_firm_is_told_so(signed_in, manager):
    assert "No visit that is handed in or released" in signed_in(manager).get(reverse("trends")).content.decode()


def test_the_number_of_queries_does_not_grow(signed_in, manager, four_visits, inspector, django_assert_max_num_queries):
    for day in range(50, 70):
        notice(make_visit(inspector, starts_at=in_days(-day, 9), state="released"), "put_right", "posts")
    browser = signed_in(manager)
    Firm.current()  # made at the first look
    with django_assert_max_num_queries(17):
        browser.get(reverse("trends"))
    with django_assert_max_num_queries(13):
        browser.get(reverse("trend-visits"), {"link": "posts"})


def test_htmx_gets_the_numbers_alone(signed_in, manager, four_visits):
    answer = signed_in(manager).get(reverse("trends"), headers={"HX-Request": "true"})
    assert answer.content.decode().lstrip().startswith('<div id="numbers">')
    assert "HX-Request" in answer["Vary"]

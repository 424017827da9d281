"""Who is not sure says on the walk what a fact could be."""

from html import unescape

import pytest
from django.urls import reverse

from inspections.survey.deck import read_record
from inspections.survey.services import record_reading
from inspections.survey.wording import STOPS
from tests.engine.deck_files import deck_file
from tests.inspections.survey.recorded import record_deck, unsure_deck
from tests.inspections.survey.walking import link, send, values

pytestmark = pytest.mark.django_db


def test_who_is_not_sure_ticks_what_it_could_be_and_the_verdict_says_on_what_it_depends(page, visit, joists):
    for name, typed in {"grade": "No. 2", "span_in": "11'", "is_incised": "no", "overhang_in": "0"}.items():
        record_reading(joists, name, typed, by=visit.inspector)
    told = send(page, joists, "species", "", ["", "measured", ""], **{"species.any": ["southern pine", "redwood"]})
    assert values(joists)["species"] == {"one_of": ["southern pine", "redwood"]}
    text = unescape(told.content.decode())
    assert "depends on the species of joist field J1 (holds for southern pine; fails for redwood)" in text
    assert "find out the species of joist field J1" in text
    assert '<option data-several value="southern pine or redwood" selected>' in text
    assert text.count(" checked>southern pine</label>") == text.count(" checked>redwood</label>") == 1


def test_what_turned_out_to_be_sure_takes_the_place_of_what_it_could_be(page, visit, joists):
    record_reading(joists, "species", "southern pine or redwood", by=visit.inspector)
    seen = [joists.readings.get(fact="species").at.isoformat(), "measured", "southern pine or redwood"]
    send(page, joists, "species", "redwood", seen, **{"species.any": ["southern pine", "redwood"]})
    assert values(joists)["species"] == "redwood"


def test_ticks_that_nobody_touched_do_not_speak_against_the_field(page, visit, joists):
    record_reading(joists, "species", "southern pine", by=visit.inspector)
    seen = [joists.readings.get(fact="species").at.isoformat(), "measured", "southern pine"]
    send(page, joists, "species", "", seen, **{"species.any": ["southern pine"]})
    assert "species" not in values(joists), "it was opened again"


def test_a_second_number_is_put_behind_the_first(page, visit, joists):
    seen = [joists.readings.get(fact="spacing_in").at.isoformat(), "measured", "16"]
    told = send(page, joists, "spacing_in", "16", seen, **{"spacing_in.or": "24"})
    assert values(joists)["spacing_in"] == {"one_of": [16, 24]}
    assert 'value="16 or 24"' in told.content.decode()


def test_two_who_are_not_sure_in_two_ways_see_both(page, visit, joists):
    record_reading(joists, "species", "southern pine or redwood", by=visit.inspector)
    told = send(page, joists, "species", "", ["", "measured", ""], **{"species.any": ["hem-fir", "redwood"]})
    assert told.status_code == 422
    text = told.content.decode()
    assert "recorded <strong>southern pine or redwood</strong>" in text
    assert (
        "You entered <strong>hem-fir or redwood</strong>" in text
        or "You entered <strong>redwood or hem-fir</strong>" in text
    )


@pytest.mark.parametrize("deck", ["sound_ledger_deck", "raised_deck_lags_missing"])
def test_a_deck_of_which_nothing_is_sure_is_shown_on_every_page(page, visit, deck):
    record_deck(visit, unsure_deck(deck_file(deck)))
    said = [page.get(reverse("walk", args=[visit.pk]))] + [page.get(link(visit, stop.slug)) for stop in STOPS]
    assert {one.status_code for one in said} == {200}
    assert not any("one_of" in one.content.decode() for one in said)
    assert read_record(visit).assess().checks

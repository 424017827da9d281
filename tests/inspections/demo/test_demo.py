"""The demo firm: what a new user finds at the first start must be whole, and true by the engine's own measure."""

import io
import json
from io import StringIO

import pytest
from django.core.management import call_command
from PIL import Image, ImageStat

from engine import Deck, assess
from engine.results import Verdict
from inspections.demo import load
from inspections.demo.decks import DECKS
from inspections.demo.scenes import SCENES, draw
from inspections.demo.story import VISITS
from inspections.findings.models import Defect, Finding
from inspections.reports.models import ReportBuild, ReportLink
from inspections.visits.models import Visit


def deck_of(name, edition="IRC 2021"):
    basis = {"edition": edition, "frost_depth_in": 24, "soil_psf": 1500}
    return Deck.from_json({"format": "soundings deck 1", "name": name, "basis": basis, **DECKS[name]()})


@pytest.mark.parametrize("name", DECKS)
def test_every_deck_hangs_together_and_gets_verdicts(name):
    checks = assess(deck_of(name)).checks
    assert {check.verdict for check in checks} & {Verdict.HOLDS, Verdict.FAILS}


def test_no_two_decks_are_alike():
    assert len({json.dumps(deck()) for deck in DECKS.values()}) == len(DECKS) >= 12


def test_the_deck_on_the_slope_fails_at_its_ledger_for_want_of_two_lag_screws():
    spacing = assess(deck_of("raised_on_a_slope")).by_id("ledger.spacing")[0]
    assert spacing.verdict is Verdict.FAILS
    assert spacing.demand == 48  # from the fastener at 52 in to the one at 100 in: two are gone, one is loose


def test_the_deck_built_last_year_follows_the_published_rules():
    checks = assess(deck_of("built_last_year")).checks
    failing = {check.id for check in checks if check.verdict is Verdict.FAILS and check.method == "prescriptive"}
    assert failing == set()


def test_the_story_has_a_visit_in_every_state_and_twelve_at_least():
    assert len(VISITS) >= 12
    assert {told.until for told in VISITS} == set(Visit.State.values)


@pytest.mark.parametrize("name", SCENES)
def test_a_photo_is_a_picture_of_something(name):
    picture = Image.open(io.BytesIO(draw(name, "a")))
    assert (picture.format, picture.size) == ("JPEG", (1600, 1200))
    assert min(ImageStat.Stat(picture).stddev) > 15  # not one flat colour


@pytest.fixture
def without_photos(monkeypatch):
    """The photos take most of the time, and have a test of their own."""
    monkeypatch.setattr(load, "_take", lambda *args, **more: None)


def loaded(password="a password for tests"):
    out = StringIO()
    call_command("load_demo", password=password, stdout=out)
    return json.loads(out.getvalue())


@pytest.mark.django_db
def test_loading_fills_an_empty_database_once(without_photos, client, django_user_model):
    first = loaded()
    assert first["created"]
    assert Visit.objects.count() == len(VISITS)
    assert set(Visit.objects.values_list("state", flat=True)) == set(Visit.State.values)
    assert Finding.objects.exclude(meaning="").count() == Finding.objects.count()
    assert ReportBuild.objects.count() == Visit.objects.filter(state="released").count()
    assert Defect.objects.count() > 40
    assert client.get(first["client_link"]).status_code == 200
    assert client.login(username="manager", password="a password for tests")
    again = loaded("another")
    assert again == {"created": False, "client_link": ""}
    assert Visit.objects.count() == len(VISITS)
    assert ReportLink.objects.filter(visit__property__street="41 Kestrel Rise").exists()


@pytest.mark.django_db
def test_an_interrupted_start_leaves_the_database_empty(without_photos, monkeypatch):
    def broken(*args, **more):
        raise RuntimeError("the power went")

    monkeypatch.setattr(load, "issue_report", broken)
    with pytest.raises(RuntimeError):
        load.load_demo("a password for tests")
    assert load.is_empty()

"""What a tablet takes along to judge without signal: complete, without Django, and named by its content."""

import gzip
import hashlib
import json
import re
import subprocess
import sys
import zipfile
from datetime import date
from io import BytesIO

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.urls import reverse

from firm.rules.models import Amendment, RuleSet
from inspections.survey.deck import read_record
from inspections.survey.services import add_part, record_reading, remove_part
from inspections.survey.tablet import read_kept, show
from inspections.sync.judging import RUNTIME, RUNTIME_FILES, engine_source, judging
from inspections.sync.snapshot import snapshot
from tests.engine.deck_files import deck_file
from tests.inspections.survey.recorded import record_deck
from tests.make import make_property, make_visit

ALONE = """
import json, sys
sys.path.insert(0, {archive!r})
from inspections.survey.tablet import show
print(show(sys.stdin.read()))
print([name for name in sys.modules if name.split(".")[0] in ("django", "asgiref", "firm")])
"""


@pytest.fixture
def visit(db):
    return make_visit(state="under_way")


def asked(visit, slug="", **changes):
    kept = {**json.loads(json.dumps(snapshot(visit))), **changes}
    return json.dumps({"kept": kept, "walk": f"/visits/{visit.pk}/walk/", "slug": slug, "chosen": "", "answered": []})


@pytest.mark.parametrize("name", ["sound_ledger_deck", "raised_deck_lags_missing"])
def test_the_tablet_makes_of_what_it_kept_the_very_deck_that_the_server_makes_of_its_rows(visit, name):
    record_deck(visit, deck_file(name))
    kept = json.loads(json.dumps(snapshot(visit)))
    record, not_read = read_kept(kept)
    assert not_read == []
    assert record.deck() == read_record(visit).deck()
    assert record.assess().to_dict() == read_record(visit).assess().to_dict()


def test_the_local_rules_of_the_place_travel_along(db):
    rules = {"county": "Sele", "citation": "Ordinance 9-14", "holds_from": date(2026, 5, 4)}
    county = RuleSet.objects.create(region="Maine", ground_snow_psf=60, **rules)
    Amendment.objects.create(rule_set=county, key="guard.min_height", value=42, unit="in", citation="s. 12")
    visit = make_visit(property=make_property(rule_set=county, rules_source="Sele County: Ordinance 9-14"))
    add_part(visit, "level", by=visit.inspector, readings={"height_in": "60"})
    add_part(visit, "guard", by=visit.inspector, readings={"is_present": "yes", "height_in": "38"})
    shown = json.loads(show(asked(visit, "edge")))
    (height,) = [one for one in shown["panel"]["failing"] if one["title"] == "Height of the guard"]
    assert height["witnesses"][0]["capacity"] == "3' 2\""
    assert height["witnesses"][0]["demand"] == "3' 6\""
    assert "Sele County" in height["witnesses"][0]["citation"]


def test_what_waits_on_the_tablet_is_read_as_the_server_will_read_it(visit):
    joists = add_part(visit, "joist_field", by=visit.inspector)
    kept = json.loads(json.dumps(snapshot(visit)))
    waiting = {"spacing_in": "2' 1/2\"", "span_in": "8' 8", "species": "Douglas Fir-Larch"}
    kept["parts"][0]["readings"].update({name: {"text": text, "how": "measured"} for name, text in waiting.items()})
    record, not_read = read_kept(kept)
    assert not_read == []
    for name, text in waiting.items():
        record_reading(joists, name, text, by=visit.inspector)
    assert record.deck() == read_record(visit).deck()


def test_what_could_be_one_of_several_is_so_on_the_tablet_too(visit):
    joists = add_part(visit, "joist_field", by=visit.inspector, readings={"species": "southern pine or redwood"})
    kept = snapshot(visit)
    kept["parts"][0]["readings"]["spacing_in"] = {"text": "16 or 24", "how": "measured", "waits": True}
    record, not_read = read_kept(kept)
    assert not_read == []
    assert record.value(record.by_key["J1"], "species") == {"one_of": ["southern pine", "redwood"]}
    record_reading(joists, "spacing_in", "16 or 24", by=visit.inspector)
    assert record.deck() == read_record(visit).deck()


def test_an_entry_that_no_joist_can_have_is_named_and_not_judged(visit):
    add_part(visit, "joist_field", by=visit.inspector)
    kept = snapshot(visit)
    kept["parts"][0]["readings"]["spacing_in"] = {"text": "160'", "how": "measured"}
    record, (refused,) = read_kept(kept)
    assert (refused.key, refused.fact) == ("J1", "spacing_in")
    assert "longer than" in refused.reason
    assert record.value(record.by_key["J1"], "spacing_in") is None


def test_what_cannot_be_reached_is_unknown_on_the_tablet_too(visit):
    add_part(visit, "joist_field", by=visit.inspector)
    kept = snapshot(visit)
    kept["parts"][0]["readings"]["spacing_in"] = {"text": "", "how": "not_reachable"}
    record, _ = read_kept(kept)
    assert record.deck()["joist_fields"][0]["spacing_in"] == "unknown"


def test_a_contradiction_is_said_on_the_tablet_with_the_place_where_it_is_put_right(visit):
    record_deck(visit, deck_file("sound_ledger_deck"))
    kept = snapshot(visit)
    ledger = next(one for one in kept["parts"] if one["kind"] == "ledger")
    ledger["readings"]["length_in"] = {"text": "2'", "how": "measured"}
    shown = json.loads(show(asked(visit, "ledger", parts=kept["parts"])))
    assert "was recorded, but it must be" in shown["contradictions"][0]["words"]
    assert shown["contradictions"][0]["where"].startswith(f"/visits/{visit.pk}/walk/ledger/?fastener=F")
    assert all(link["standing"] is None for link in shown["chain"])


def test_every_stop_of_the_walk_says_the_limits_of_its_verdicts(visit):
    record_deck(visit, deck_file("raised_deck_lags_missing"))
    for slug in ("", *(one["slug"] for one in json.loads(show(asked(visit)))["chain"])):
        assert "licensed" in json.loads(show(asked(visit, slug)))["caution"]


def test_the_archive_judges_alone_without_django(visit, tmp_path):
    record_deck(visit, deck_file("raised_deck_lags_missing"))
    archive = tmp_path / "engine.zip"
    archive.write_bytes(engine_source().data)
    said = subprocess.run(
        [sys.executable, "-I", "-S", "-c", ALONE.format(archive=str(archive))],
        input=asked(visit, "ledger"), capture_output=True, text=True, check=True,
    )  # fmt: skip
    shown, others = said.stdout.splitlines()
    assert json.loads(shown) == json.loads(show(asked(visit, "ledger")))
    assert others == "[]"


def test_the_version_is_that_of_the_content():
    source = engine_source()
    engine_source.cache_clear()
    assert engine_source() == source, "packed twice, it is the same file"
    names = zipfile.ZipFile(BytesIO(source.data)).namelist()
    assert "engine/checks/joists.py" in names
    assert "engine/data/rules.json" in names
    assert not any("models" in name or name.startswith("firm") for name in names)
    assert source.version in judging()["store"]
    assert source.version in judging()["version"]


def test_a_tablet_gets_the_source_for_ever_and_never_that_of_another_version(client, visit):
    client.force_login(visit.inspector)
    answer = client.get(reverse("sync-engine", args=[engine_source().version]))
    assert answer.content == engine_source().data
    assert "immutable" in answer["Cache-Control"]
    assert client.get(reverse("sync-engine", args=["0123456789ab"])).status_code == 404


def test_everything_that_a_tablet_is_sent_for_is_there_with_its_size():
    files = dict(judging()["files"])
    assert files.pop(judging()["engine"]) == len(engine_source().data)
    for name in RUNTIME_FILES:
        with open(finders.find(f"{RUNTIME}/{name}"), "rb") as file:
            assert files.pop(f"{settings.STATIC_URL}{RUNTIME}/{name}") == len(file.read())
    assert files == {}


def test_the_vendored_python_is_the_published_one():
    folder = settings.BASE_DIR / "static" / RUNTIME
    sums = re.findall(r"^    ([0-9a-f]{64})  (\S+)$", (folder / "README.md").read_text(), re.M)
    assert len(sums) == 4
    for digest, name in sums:
        packed = folder / f"{name}.gz"
        content = gzip.decompress(packed.read_bytes()) if packed.exists() else (folder / name).read_bytes()
        assert hashlib.sha256(content).hexdigest() == digest, name


def test_a_removed_part_is_not_judged_on_the_tablet(visit):
    first = add_part(visit, "guard", by=visit.inspector)
    add_part(visit, "guard", by=visit.inspector)
    remove_part(first, by=visit.inspector)
    record, _ = read_kept(snapshot(visit))
    assert [part.key for part in record.parts] == ["G2"]

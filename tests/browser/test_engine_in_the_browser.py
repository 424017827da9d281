"""The engine in the browser says what the server's says, field by field: every fixture deck, every deck of the demo."""

import base64
import gzip
import json
import math

import pytest
from django.conf import settings

from engine import Deck, assess
from engine.deck import FORMAT
from engine.vocabulary import BY_PLURAL
from inspections.demo.decks import DECKS
from inspections.survey.tablet import read_kept
from inspections.sync.judging import RUNTIME, engine_source, judging
from tests.engine.deck_files import NAMES, deck_file
from tests.inspections.survey.recorded import as_typed

TOLERANCE = 1e-9
IN_THE_BROWSER = """async ({ runtime, engine, decks, kept }) => {
    const { loadPyodide } = await import(`${runtime}pyodide.mjs`);
    const python = await loadPyodide({ indexURL: runtime, packageBaseUrl: runtime });
    const source = Uint8Array.from(atob(engine), (letter) => letter.charCodeAt(0));
    python.FS.writeFile("/engine.zip", source);
    python.runPython(`
import json, sys
sys.path.insert(0, "/engine.zip")
from engine import Deck, assess
from inspections.survey.tablet import read_kept

def of_file(text):
    return json.dumps(assess(Deck.from_json(text)).to_dict())

def of_kept(text):
    record, not_read = read_kept(json.loads(text))
    return json.dumps([record.deck(), record.assess().to_dict(), len(not_read)])
`);
    const all = (function_name, texts) => Object.fromEntries(Object.entries(texts).map(
        ([name, text]) => [name, JSON.parse(python.globals.get(function_name)(text))]));
    return { decks: all("of_file", decks), kept: all("of_kept", kept) };
}"""


def demo_decks():
    basis = deck_file()["basis"]
    return {name: {"format": FORMAT, "name": name, "basis": basis, **deck()} for name, deck in DECKS.items()}


def as_kept(deck):
    """A deck as a tablet keeps it on which everything was typed and nothing is sent yet."""
    parts = [
        {
            "id": f"id-{part['id']}", "kind": kind.name, "key": part["id"], "name": part.get("name", ""),
            "readings": {
                name: _kept_reading(value) for name, value in part.items() if name not in ("id", "name")
            },
        }
        for plural, kind in BY_PLURAL.items()
        for part in deck.get(plural, [])
    ]  # fmt: skip
    return {"title": deck["name"], "basis": deck["basis"], "parts": parts}


def _kept_reading(value):
    if value == "unknown":
        return {"text": "", "how": "not_reachable"}
    return {"text": as_typed(value), "how": "measured"}


def differences(one, other, path="."):
    """Where two pieces of plain data differ by more than a rounding of the last bits of a float."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        return [found for name in one for found in differences(one[name], other[name], f"{path}{name}.")]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [found for number, (a, b) in pairs for found in differences(a, b, f"{path}{number}.")]
    if isinstance(one, float) and isinstance(other, float):
        return [] if math.isclose(one, other, rel_tol=TOLERANCE, abs_tol=TOLERANCE) else [(path, one, other)]
    return [] if one == other else [(path, one, other)]


@pytest.fixture
def page(tablet, inspector, live_server):
    """A page that gets the runtime as a tablet has it once it was taken along: unpacked."""

    def answer(route):
        name = route.request.url.rsplit("/", 1)[1]
        folder = settings.BASE_DIR / "static" / RUNTIME
        packed = folder / f"{name}.gz"
        kind = {"mjs": "text/javascript", "wasm": "application/wasm"}.get(name.rsplit(".", 1)[1], "application/zip")
        body = gzip.decompress(packed.read_bytes()) if packed.exists() else (folder / name).read_bytes()
        route.fulfill(body=body, content_type=kind)

    page = tablet(inspector)
    page.route(f"**/{RUNTIME}/*", answer)
    page.goto("/off-line/")
    return page


def test_every_deck_is_judged_in_the_browser_as_on_the_server(page):
    decks = {name: deck_file(name) for name in NAMES}
    kept = {name: as_kept(deck) for name, deck in demo_decks().items()}
    found = page.evaluate(
        IN_THE_BROWSER,
        {
            "runtime": judging()["runtime"],
            "engine": base64.b64encode(engine_source().data).decode(),
            "decks": {name: json.dumps(deck) for name, deck in decks.items()},
            "kept": {name: json.dumps(one) for name, one in kept.items()},
        },
    )
    for name, deck in decks.items():
        here = json.loads(json.dumps(assess(Deck.from_json(json.dumps(deck))).to_dict()))
        assert here["checks"], name
        assert differences(here, found["decks"][name]) == [], name
    for name, one in kept.items():
        record, not_read = read_kept(one)
        here = json.loads(json.dumps([record.deck(), record.assess().to_dict(), len(not_read)]))
        assert differences(here, found["kept"][name]) == [], name


def test_a_difference_that_matters_is_found():
    here = {"checks": [{"ratio": 1.0, "verdict": "holds", "steps": [1.0, 2.0]}]}
    assert differences(here, {"checks": [{"ratio": 1.0 + 1e-13, "verdict": "holds", "steps": [1.0, 2.0]}]}) == []
    assert differences(here, {"checks": [{"ratio": 1.0 + 1e-6, "verdict": "holds", "steps": [1.0, 2.0]}]})
    assert differences(here, {"checks": [{"ratio": 1.0, "verdict": "fails", "steps": [1.0, 2.0]}]})
    assert differences(here, {"checks": [{"ratio": 1.0, "verdict": "holds", "steps": [1.0]}]})

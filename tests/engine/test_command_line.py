import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from engine.command_line import main
from engine.joists import max_joist_span
from engine.loads import Loads
from engine.lumber import Lumber
from tests.engine.deck_files import FOLDER, changed
from tests.engine.derivations import assert_every_step_comes_out

SOUND = str(FOLDER / "sound_ledger_deck.json")
ROOT = Path(__file__).parents[2]
WOOD = ["--species", "southern pine"]
QUESTIONS = {
    "joist-span": [*WOOD, "--size", "2x10", "--spacing", "16"],
    "beam-span": [*WOOD, "--size", "2x10", "--plies", "2", "--joist-span", "10 ft"],
    "post": [*WOOD, "--size", "6x6", "--height", "8'", "--area", "60"],
    "footing": ["--area", "60"],
    "fastener": ["--kind", "bolt", "--diameter", "1/2", "--main-gravity", "0.55", "--main-thickness", "1.5",
                 "--side-gravity", "0.55", "--side-thickness", "1 1/2"],
    "guard-post": ["--height", "36", "--bolt-spacing", "5.25"],
}  # fmt: skip


def run(capsys, *words):
    code = main(words)
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def test_a_deck_is_assessed_as_text_with_steps_citations_and_the_caution(capsys):
    code, out, _ = run(capsys, "assess", SOUND)
    assert code == 0
    assert "== joists ==" in out
    assert "Joists in bending: joist field J1: HOLDS  (joist.bending, calculation)" in out
    assert "must 351.14, can 920 psi: 38%, bending" in out
    assert "M = w * l**2 / 8 = 5.55556 * 104**2 / 8 = 7511.11 in-lb  [statics, simple span]" in out
    assert "by: NDS 3.3" in out
    assert "could be seen" in out
    assert "where calculation and published rule disagree" in out


def test_a_deck_is_assessed_as_json_with_the_same_checks(capsys):
    code, out, _ = run(capsys, "assess", SOUND, "--json")
    found = json.loads(out)
    assert code == 0
    assert found["engine_version"] == "0.1.0"
    text = run(capsys, "assess", SOUND)[1]
    for check in found["checks"]:
        assert f"{check['subject']}: {check['verdict'].upper()}  ({check['id']}, {check['method']})" in text


def test_a_deck_may_come_through_a_pipe():
    command = [sys.executable, "-m", "engine", "assess", "-", "--json"]
    done = subprocess.run(command, input=Path(SOUND).read_bytes(), capture_output=True, cwd=ROOT, check=False)
    assert done.returncode == 0
    assert json.loads(done.stdout)["deck"] == "Sound ledger deck"


def test_a_faulty_deck_is_refused_with_one_line_a_fault(capsys, tmp_path):
    file = tmp_path / "deck.json"
    file.write_text(json.dumps(changed(J1={"spacing_in": "16", "size": "2x11"}, basis={"live_psf": -1})))
    code, out, err = run(capsys, "assess", str(file))
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert lines[0] == "basis.live_psf = -1: a number from 10 to 250 psf"
    assert lines[1] == "joist_fields[0].size = '2x11': one of 2x6, 2x8, 2x10, 2x12 (did you mean 2x12?)"
    assert lines[2] == "joist_fields[0].spacing_in = '16': a number from 4 to 48 in"
    assert len(lines) == 3


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["assess"], "assess DECK.json"),
        (["assess", "nowhere.json"], "file = 'nowhere.json': a file that can be read"),
        (["assess", "."], "file = '.': a file that can be read"),
        (["assess", SOUND, "--xml"], "assess DECK.json"),
        (["schema", "now"], "arguments = 'now': schema"),
        (["reserve", SOUND, "J1.species"], "path = 'J1.species': a recorded number"),
        (["frobnicate"], "command = 'frobnicate': one of assess"),
        (["joist-span", *WOOD, "--size", "2x10"], "--spacing = None: needed: a length"),
        (["joist-span", *WOOD, "--size", "2x10", "--spacing", "12-"], "--spacing = '12-': This cannot be read"),
        (["joist-span", *WOOD, "--size", "2x10", "--spacing", "-4"], "--spacing = '-4': A length cannot be negative."),
        (["joist-span", *WOOD, "--size", "2x10", "--spacing", "0"], "spacing_in = 0.0: from 1 to 96"),
        (
            ["joist-span", *WOOD, "--size", "2x10", "--spacing", "16", "--live", "nan"],
            "--live = 'nan': a number from 1 to 250 psf; live load",
        ),
        (
            ["joist-span", *WOOD, "--size", "2x10", "--spacing", "16", "--live", "many"],
            "--live = 'many': a number from 1 to 250 psf; live load",
        ),
        (["joist-span", *WOOD, "--size", "2x10", "--spacing", "16", "--live"], "--live = None: a number from 1"),
        (
            ["joist-span", *WOOD, "--size", "2x10", "--spacing", "16", "--snou", "3"],
            "option = '--snou': one of --species",
        ),
        (["joist-span", "--species", "balsa", "--size", "2x10", "--spacing", "16"], "balsa"),
        (["beam-span", *WOOD, "--size", "2x10", "--joist-span", "10 ft", "--plies", "1.5"], "--plies = '1.5'"),
        (["post", *WOOD, "--size", "4x4", "--height", "30 ft"], "50"),
        (["footing", "--area", "0"], "--area = '0': a number from 1 to 2000 sq ft"),
        (["footing", "--area", "60", "--live", "1e308"], "--live = '1e308': a number from 1 to 250 psf"),
        (["footing", "--area", "1_000"], "--area = '1_000': a number from 1 to 2000 sq ft"),
        (["footing", "--area", "60", "--area", "80"], "--area = '80': given once"),
        (["footing", "--area", "60", "--soil"], "--soil = None: a number from 500 to 12000 psf"),
        (["footing", "--area=" + "9" * 5000], "--area = '999"),
        (["joist-span", *WOOD, "--size", "2x10", "--spacing", "9" * 400], "too long for a length"),
        (
            ["joist-span", *WOOD, "--size", "2x10", "--spacing", "16", "--dry=no"],
            "--dry = 'no': no value: the word alone says yes",
        ),
        (["joist-span", "--species", " ", "--size", "2x10", "--spacing", "16"], "--species = ' ': species or species"),
        (
            ["fastener", "--kind", "wood screw", "--diameter", "1/2", "--main-gravity", "0.5", "--withdrawal"],
            "NDS Appendix L lists no 0.5 in wood screw; give its root diameter",
        ),
        (["fastener", "--kind", "rivet", "--diameter", "1/2", "--main-gravity", "0.5"], "kind = 'rivet': one of bolt"),
        (["guard-post", "--height", "36"], "bolt_spacing_in = None"),
    ],
)
def test_bad_input_ends_with_exit_2_and_a_line_that_says_what_is_accepted(capsys, words, says):
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert says in err
    assert all(re.fullmatch(r".+ = .+: .+", line) and len(line) < 500 for line in err.splitlines())


def test_all_wrong_options_are_told_at_once(capsys):
    _, _, err = run(capsys, "joist-span", "--spacing", "abc", "--live", "x", "--foo", "1")
    paths = {line.split(" = ")[0] for line in err.splitlines()}
    assert {"--spacing", "--live", "option", "--species", "--size"} <= paths


@pytest.mark.parametrize("question", QUESTIONS)
def test_each_single_question_answers_with_steps_that_come_out(capsys, question):
    from engine.results import Step

    code, out, _ = run(capsys, question, *QUESTIONS[question], "--json")
    found = json.loads(out)
    assert code == 0
    assert_every_step_comes_out(Step(**step) for step in found["steps"])
    assert "could be seen" in found["caution"]
    code, text, _ = run(capsys, question, *QUESTIONS[question])
    assert code == 0
    assert f"{found['steps'][0]['value']:.6g}" in text


@pytest.mark.parametrize("question", QUESTIONS)
def test_help_names_the_units(capsys, question):
    code, out, _ = run(capsys, question, "--help")
    assert code == 0
    assert "in, or as a tape says it" in out or "sq ft" in out
    for name in QUESTIONS[question][::2]:
        assert name in out


def test_a_question_gives_what_the_library_gives(capsys):
    _, out, _ = run(capsys, "joist-span", *QUESTIONS["joist-span"], "--json")
    limit = max_joist_span(Lumber("southern pine", "No. 2", "2x10"), 16, Loads())
    assert json.loads(out)["span_in"] == limit.value_in
    # AWC DCA 6-2012 Table 2: southern pine 2x10 at 16 in spans 14 ft 0 in.
    assert round(json.loads(out)["span_in"]) == 168


def test_a_fastener_that_is_no_standard_one_is_answered_with_its_own_root_and_yield(capsys):
    words = ["fastener", "--kind", "wood screw", "--diameter", "0.3", "--length", "4", "--main-gravity", "0.55",
             "--main-thickness", "3.5", "--side-gravity", "0.55", "--side-thickness", "1.5"]  # fmt: skip
    assert run(capsys, *words)[0] == 2
    code, out, _ = run(capsys, *words, "--root-diameter", "0.2", "--bending-yield", "45000", "--json")
    assert code == 0
    assert json.loads(out)["z_lb"] > 0


def test_every_default_that_was_used_is_listed(capsys):
    _, out, _ = run(capsys, "joist-span", *QUESTIONS["joist-span"], "--live", "60", "--json")
    assumptions = json.loads(out)["assumptions"]
    assert "--dead not given: 10.0 psf" in assumptions
    assert not [words for words in assumptions if "--live" in words]


def test_the_guard_post_of_the_reference_pulls_1690_lb_on_its_upper_bolts(capsys):
    """Upper bolt 2 in below the top of a 2x10 rim, lower bolt 5.25 in below it: 1690 lb (statics, to 10 lb)."""
    _, out, _ = run(capsys, "guard-post", *QUESTIONS["guard-post"], "--json")
    assert round(json.loads(out)["bolt_tension_lb"], -1) == 1690


def test_schema_and_sources_are_printed(capsys):
    code, out, _ = run(capsys, "schema")
    assert (code, json.loads(out)["title"]) == (0, "soundings deck 1")
    code, out, _ = run(capsys, "sources", "--json")
    found = {entry["name"]: entry for entry in json.loads(out)}
    assert code == 0
    assert {path.stem for path in (ROOT / "engine" / "data").glob("*.json")} == set(found)
    assert all(entry["title"] and entry["source"] and entry["edition"] and entry["read"] for entry in found.values())
    assert len(found["beam_spans_dca6_2012"]["from_memory"]) == 140
    assert "AWC DCA 6, Table 3A" in run(capsys, "sources")[1]


def test_rating_and_reserve_are_printed(capsys):
    code, out, _ = run(capsys, "rating", SOUND)
    assert code == 0
    assert "psf live load, set by" in out.splitlines()[0]
    code, out, _ = run(capsys, "reserve", SOUND, "J1.span_in", "--json")
    assert code == 0
    assert json.loads(out)[0]["path"] == "J1.span_in"
    assert "J1.span_in = 104" in run(capsys, "reserve", SOUND, "J1.span_in")[1]


def test_a_terminal_that_knows_only_ascii_gets_no_traceback(tmp_path):
    file = tmp_path / "deck.json"
    file.write_text(json.dumps(changed(L1={"name": "Terrasse für Gäste"}), ensure_ascii=False), "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "engine", "assess", str(file)],
        capture_output=True, cwd=ROOT, check=False, env={"PYTHONIOENCODING": "ascii", "PATH": ""},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert b"Terrasse f\\xfcr" in done.stdout


def test_a_reader_that_stops_reading_ends_the_command_quietly():
    command = f'"{sys.executable}" -m engine assess "{SOUND}" | head -1'
    done = subprocess.run(["sh", "-c", command], capture_output=True, cwd=ROOT, check=False)
    assert done.stderr == b""


def test_the_command_starts_without_loading_what_it_does_not_need():
    code = (
        "import sys, engine.command_line as c; c.main(['--help']); "
        "print(sorted(m for m in sys.modules if m.startswith('engine')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, cwd=ROOT, check=True, text=True)
    assert done.stdout.splitlines()[-1] == "['engine', 'engine.command_line', 'engine.errors', 'engine.records']"


def test_the_engine_needs_nothing_but_the_standard_library():
    """With site packages shut out, a deck is still assessed."""
    done = subprocess.run(
        [sys.executable, "-S", "-I", "-c", f"import sys; sys.path.insert(0, {str(ROOT)!r});"
         f"from engine.command_line import main; sys.exit(main(['assess', {SOUND!r}]))"],
        capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("diameter", "length", "plate", "angle", "published_lb"),
    [("3/8", "3-1/2", "0.12", 90, 150), ("3/8", "3-1/2", "0.12", 0, 220), ("1/4", "2-1/2", "0.105", 90, 130)],
)
def test_a_lag_screw_through_sheet_steel_is_asked_for_as_the_table_prints_it(
    capsys, diameter, length, plate, angle, published_lb
):
    """NDS Table 12K, southern pine, rounded to 10 lb: penetration of 8D or more; the bearing length is shown."""
    words = ["--kind", "lag screw", "--diameter", diameter, "--length", length, "--main-gravity", "0.55",
             "--main-thickness", "5-1/2", "--main-angle", str(angle), "--side-material", "A653 steel",
             "--side-thickness", plate]  # fmt: skip
    code, out, _ = run(capsys, "fastener", *words)
    assert code == 0
    assert float(re.search(r"z_lb = ([\d.]+)", out)[1]) == pytest.approx(published_lb, abs=5)
    assert "lm = min(tm, L - ts - E / 2) = min(5.5, " in out

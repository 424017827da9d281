"""Broken deck files at the door of the command line: refused line by line, or judged; never a traceback."""

import copy
import json
import re
import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine.command_line import main
from tests.engine.deck_files import NAMES, changed, deck_file

FEW = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
ODD = (
    None, True, False, 0, -0.0, -1, 1, 1.5, 4800, 1e308, -1e308, 5e-324, float("nan"), float("inf"), 10**400, "16", "",
    "unknown", "2x10", "é", "\x00", "a" * 5000, [], [[]], {}, {"one_of": []}, {"one_of": [1, "x", None]}, [1, 2, 3],
    list(range(500)), "basis", "J1", "B1", 36,
)  # fmt: skip


def places(value, path=()):
    """Every path into a deck file, its own root left out."""
    found = [path] if path else []
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        found += places(item, (*path, key))
    return found


@st.composite
def mutants(draw):
    """A fixture deck with one to three of its values replaced, taken out or put in twice."""
    file = copy.deepcopy(deck_file(draw(st.sampled_from(NAMES))))
    for _ in range(draw(st.integers(1, 3))):
        *head, last = draw(st.sampled_from(places(file)))
        parent = file
        for key in head:
            parent = parent[key]
        way = draw(st.integers(0, 5))
        if way == 0:
            del parent[last]
        elif way == 1 and isinstance(parent, list):
            parent.append(copy.deepcopy(parent[last]))
        elif way == 2 and isinstance(parent, dict):
            parent[draw(st.text(max_size=8))] = draw(st.sampled_from(ODD))
        else:
            parent[last] = draw(st.sampled_from(ODD))
    return json.dumps(file).encode()


def put(capsys, path, *words):
    """The exit code, the printed text and the lines of refusal of one command about a file."""
    code = main([*words[:1], str(path), *words[1:]])
    out, err = capsys.readouterr()
    if code == 2:
        assert out == ""
        assert err
        assert all(re.fullmatch(r".+ = .+: .+", line) and len(line) < 2000 for line in err.splitlines()), err
    else:
        assert (code, err) == (0, "")
    return code, out, err.splitlines()


@FEW
@given(data=mutants())
def test_a_broken_deck_is_refused_line_by_line_or_judged(data, capsys, tmp_path):
    file = tmp_path / "deck.json"
    file.write_bytes(data)
    code, out, _ = put(capsys, file, "assess", "--json")
    if code == 0:
        json.loads(out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))


@FEW
@given(data=mutants(), at=st.integers(0, 10**6), put_in=st.binary(max_size=4), cut=st.integers(0, 40))
def test_bytes_knocked_out_of_a_deck_file_are_no_traceback(data, at, put_in, cut, capsys, tmp_path):
    file, at = tmp_path / "deck.json", at % len(data)
    file.write_bytes(data[:at] + put_in + data[at + cut :])
    put(capsys, file, "assess", "--json")


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "deck = 'line 1 column 1': JSON"),
        (b"not json", "deck = 'line 1 column 1': JSON"),
        (b"[]", "deck = 'a list': an object"),
        (b"12", "deck = 12: an object"),
        (b"\xff\xfe\x00", "deck = 'byte 0': UTF-8 text"),
        (b'{"format": "soundings deck 1", "format": "x"}', "deck = 'format': each key once"),
        (b"[" * 100_000, "deck = 'nested too deeply'"),
        (b'{"a":' * 3000 + b"1" + b"}" * 3000, "deck = 'nested too deeply'"),
        (b'{"format": ' + b"9" * 5000 + b"}", "deck = 'a number of very many digits'"),
        (b"{}", "basis = None: the building-rule basis"),
        (b" " * 9_000_000, "deck = '9000000 characters': at most 8000000"),
    ],
    ids=["empty", "no JSON", "a list", "a number", "no UTF-8", "a key twice", "deep lists", "deep objects",
         "many digits", "nothing in it", "very long"],
)  # fmt: skip
def test_what_is_no_deck_file_at_all_is_refused_in_one_word(data, says, capsys, tmp_path):
    file = tmp_path / "deck.json"
    file.write_bytes(data)
    code, _, lines = put(capsys, file, "assess")
    assert code == 2
    assert says in "\n".join(lines)


def test_a_byte_order_mark_is_no_fault(capsys, tmp_path):
    file = tmp_path / "deck.json"
    file.write_bytes(b"\xef\xbb\xbf" + json.dumps(deck_file()).encode())
    assert put(capsys, file, "assess", "--json")[0] == 0


@pytest.mark.parametrize(
    ("owner", "fact", "value", "line"),
    [
        ("J1", "span_in", 4800, "joist_fields[0].span_in = 4800: a number from 12 to 480 in"),
        ("J1", "span_in", True, "joist_fields[0].span_in = True: a number from 12 to 480 in"),
        ("J1", "span_in", "104", "joist_fields[0].span_in = '104': a number from 12 to 480 in"),
        ("J1", "span_in", float("nan"), "joist_fields[0].span_in = nan: a number from 12 to 480 in"),
        ("J1", "span_in", -0.0, "joist_fields[0].span_in = -0.0: a number from 12 to 480 in"),
        ("J1", "span_in", 1e308, "joist_fields[0].span_in = 1e+308: a number from 12 to 480 in"),
        ("J1", "spam_in", 104, "joist_fields[0].spam_in = 'unknown key': did you mean span_in?"),
        ("J1", "grade", "Nº 2", "joist_fields[0].grade = 'Nº 2': one of Select Structural, No. 1, No. 2, No. 3"),
        ("P1", "beam", "B9", "posts[0].beam = 'B9': the id of a beam (B1)"),
        ("P1", "beam", None, "posts[0].beam = None: the id of a beam"),
        ("F1", "position_in", 900, "fasteners[0].position_in = 900.0: from 0 to"),
        ("F2", "id", "F1", "fasteners[1].id = 'F1': an id of its own; fasteners[0] has this one"),
        ("B1", "spans_in", [72] * 300, "beams[0].spans_in = 'a list': a list of 1 to 60 numbers"),
        ("basis", "live_psf", float("inf"), "basis.live_psf = inf: a number from 10 to 250 psf"),
    ],
)
def test_a_fault_is_one_line_with_path_value_and_what_is_accepted(owner, fact, value, line, capsys, tmp_path):
    file = tmp_path / "deck.json"
    file.write_text(json.dumps(changed(**{owner: {fact: value}})), "utf-8")
    code, _, lines = put(capsys, file, "assess")
    assert (code, len(lines)) == (2, 1)
    assert lines[0].startswith(line)


def test_the_longest_beam_that_a_file_may_hold_is_judged_while_one_waits(capsys, tmp_path):
    """Sixty spans in one run, a post and a footing under each: nobody's deck, and still answered within seconds."""
    file = deck_file()
    file["beams"][0].update(spans_in=[18 + number / 100 for number in range(60)], runs="continuous")
    post, footing = file["posts"][0], file["footings"][0]
    del post["position_in"]
    file["posts"] = [{**post, "id": f"P{number}"} for number in range(61)]
    file["footings"] = [{**footing, "id": f"FT{number}", "post": f"P{number}"} for number in range(61)]
    path = tmp_path / "deck.json"
    path.write_text(json.dumps(file), "utf-8")
    begun = time.process_time()
    code, printed, refused = put(capsys, path, "assess")
    assert (code, refused) == (0, [])
    assert "post P60" in printed
    assert time.process_time() - begun < 6

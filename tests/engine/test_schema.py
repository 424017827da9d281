import re

import pytest

from engine.schema import deck_schema
from engine.vocabulary import BASIS_FACTS, KINDS
from tests.engine.deck_files import NAMES, changed, deck_file


def fits(schema, value):
    """Whether `value` fits, by the keywords that this schema uses and no others; an unknown keyword fails the test."""
    known = {"$schema", "title", "description", "type", "properties", "required", "additionalProperties", "items",
             "anyOf", "const", "enum", "minimum", "maximum", "minItems", "maxItems", "maxLength", "pattern",
             "not"}  # fmt: skip
    assert set(schema) <= known, set(schema) - known
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    types = {
        "object": isinstance(value, dict), "array": isinstance(value, list), "string": isinstance(value, str),
        "boolean": isinstance(value, bool), "number": number, "integer": number and value == int(value),
    }  # fmt: skip
    tests = [
        types[schema["type"]] if "type" in schema else True,
        value == schema["const"] if "const" in schema else True,
        value in schema["enum"] if "enum" in schema else True,
        any(fits(each, value) for each in schema["anyOf"]) if "anyOf" in schema else True,
        not fits(schema["not"], value) if "not" in schema else True,
    ]
    if number:
        tests += [value >= schema.get("minimum", value), value <= schema.get("maximum", value)]
    if isinstance(value, str):
        tests += [len(value) <= schema.get("maxLength", len(value)), bool(re.search(schema.get("pattern", ""), value))]
    if isinstance(value, list):
        tests += [schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value))]
        tests += [fits(schema["items"], item) for item in value if "items" in schema]
    if isinstance(value, dict):
        properties = schema.get("properties", {})
        tests += [set(schema.get("required", ())) <= set(value)]
        tests += [schema.get("additionalProperties", True) or set(value) <= set(properties)]
        tests += [fits(properties[key], item) for key, item in value.items() if key in properties]
    return all(tests)


@pytest.mark.parametrize("name", NAMES)
def test_every_fixture_deck_is_valid_by_the_schema(name):
    assert fits(deck_schema(), deck_file(name))


@pytest.mark.parametrize(
    "changes",
    [
        {"J1": {"spacing_in": "16"}},
        {"J1": {"spacing_in": True}},
        {"J1": {"span_in": 4800}},
        {"J1": {"size": "2x11"}},
        {"J1": {"count": 3.5}},
        {"J1": {"spacin_in": 16}},
        {"J1": {"ledger": "unknown"}},
        {"B1": {"plies": ...}},
        {"B1": {"spans_in": []}},
        {"J1": {"grade": {"one_of": []}}},
        {"basis": {"edition": ...}},
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(changes):
    assert not fits(deck_schema(), changed(**changes))


def test_units_and_ranges_stand_in_the_descriptions():
    found = deck_schema()["properties"]
    spacing = found["joist_fields"]["items"]["properties"]["spacing_in"]
    assert "from 4 to 48 in" in spacing["description"]
    species = found["joist_fields"]["items"]["properties"]["species"]
    assert "if left out each of these is tried: southern pine" in species["description"]
    assert "if left out: No. 2" in found["posts"]["items"]["properties"]["grade"]["description"]


def test_every_fact_of_the_vocabulary_is_in_the_schema():
    found = deck_schema()["properties"]
    assert {fact.name for fact in BASIS_FACTS} <= set(found["basis"]["properties"])
    for kind in KINDS:
        assert {"id", "name", *kind.index} == set(found[kind.plural]["items"]["properties"])

"""Whatever length the server takes, the tablet takes with the same value; it refuses in the same words, too."""

import itertools
import random

import pytest
from django.urls import reverse

from engine.units import UnreadableLength, format_feet_inches, format_inches, parse_length_in
from inspections.survey.models import Part
from inspections.survey.services import add_part
from inspections.sync.snapshot import kit, snapshot
from tests.make import make_visit

NUMBERS = [
    "0",
    "3",
    "3.75",
    ".5",
    "12.",
    "12",
    "1.2",
    "95",
    "147",
    "1200",
    "1200.01",
    "99999999",
    "007",
    "1e3",
    "٣",
    "",
]
FRACTIONS = ["1/2", "7/8", "15/16", "4/3", "0/4", "3/0", "1 / 2", "/2", "1/", "½", "⅝", "1⁄4", "11/16"]
UNITS = [
    "mm", "cm", "m", "MM", "M", " m", "in", "in.", "inch", " inches", '"', "''", "″", "ft", "ft.", " feet", "foot",
    "'", "’", "yd",
]  # fmt: skip
JOINTS = ["", " ", "-", " - ", "–", "  ", ", ", " x "]
RESTS = ["", "3", "3 1/2", "3-1/2", "11.5", "⅝", "12"]
AWKWARD = [
    "12-3 1/2", "12' 3-1/2\"", "12’ 3½”", "12 ft 3 1/2 in", "3.75", "95 mm", "1.2 m", "7/8", "5-1/2", "5 1/2\"",
    "-4", "−4", "12' 13", "12 3", "12,5", "12- 3", "12-3-1/2", "1-1-1/2", "3'6\"", "3' 6' 1\"", "nan", "Infinity",
    "12-", "--", "\t4 \n1/2", "1\u00a01/2", "9" * 41, "1" + " " * 50, "1 1", "100 ft", "100' 1/16\"", "30.48 m",
    "30.481 m", "1/3", "2 2/3", "0 5/4", "12-11 15/16", "½", "1½ ft", "½'", "1.5' 2.25", "4.5.6", "1200 1/16",
]  # fmt: skip


def spellings():
    """Every joining of the pieces that hands write, right and wrong."""
    by = random.Random(12)
    whole = itertools.product(NUMBERS[:9], UNITS, JOINTS[:5], RESTS, ["", '"', " in"])
    parts = itertools.product(NUMBERS, JOINTS, FRACTIONS, UNITS)
    joined = ["".join(pieces) for pieces in (*whole, *parts)]
    shaken = ["".join(by.choices("0123456789./-' \"½mcftin", k=by.randint(1, 9))) for _ in range(4000)]
    written = [form(by.randint(0, 1200 * 64) / 64) for form in (format_feet_inches, format_inches) for _ in range(500)]
    return [*AWKWARD, *NUMBERS, *FRACTIONS, *by.sample(joined, 6000), *shaken, *written]


def at_the_server(text):
    try:
        return parse_length_in(text)
    except UnreadableLength as refusal:
        return refusal.reason


AT_THE_TABLET = """async texts => {
  const { readLength, UnreadableLength } = await import("/static/js/lengths.js");
  const read = text => { try { return readLength(text); } catch (refusal) {
    if (refusal instanceof UnreadableLength) return refusal.message;
    throw refusal;
  } };
  return texts.map(read);
}"""


def test_the_tablet_reads_every_spelling_of_a_length_as_the_server_does(desktop, inspector):
    page = desktop(inspector)
    page.goto("/")
    texts = spellings()
    ours = [at_the_server(text) for text in texts]
    theirs = page.evaluate(AT_THE_TABLET, texts)
    assert [told for told in zip(texts, ours, theirs, strict=True) if told[1] != told[2]] == []
    taken = sum(isinstance(value, float) for value in ours)
    assert taken > 2000, "the spellings hold many that are lengths"
    assert len(ours) - taken > 3000, "and many that are none"


def test_the_tablet_prints_a_length_as_the_server_does(desktop, inspector):
    page = desktop(inspector)
    page.goto("/")
    values = [n / 32 for n in range(0, 1200 * 32, 7)] + [n / 25.4 for n in range(0, 3000, 13)]
    printed = page.evaluate(
        """async values => {
          const { feetAndInches } = await import("/static/js/lengths.js");
          return values.map(value => [feetAndInches(value), feetAndInches(value, true)]);
        }""",
        values,
    )
    assert printed == [[format_feet_inches(value), format_inches(value)] for value in values]


ROW_AT_THE_TABLET = """async ([record, address, rows]) => {
  const { fastenerOperations, NotTaken } = await import("/static/js/offline/entries.js");
  const read = row => {
    const form = document.createElement("form");
    form.setAttribute("action", address);
    for (const [name, value] of Object.entries(row)) {
      form.append(Object.assign(document.createElement("input"), { name, value }));
    }
    try { return fastenerOperations(record, form)[0][1].parts.map(one => one.position_in); } catch (refusal) {
      if (refusal instanceof NotTaken) return null;
      throw refusal;
    }
  };
  return rows.map(read);
}"""

LEDGERS = ["", "14'", "3.75 m", "12-3 1/2", "10' or 12'"]
ROWS = [
    {"first": first, "every": every, "last": last, "diameter_in": wide, "length_in": long,
     "row": "staggered", "fastener": "lag screw"}
    for first, every, last, wide, long in [
        ("5-1/2", "12-3 1/2", "", "", ""), ("5-1/2", "1-3 1/2", "12-3 1/2", "7/8", ""),
        ("95 mm", "40 cm", "3.75 m", "12 mm", "1/2"), ("1' 3 1/16\"", "7.1", "9'", "½", "5 or 6"),
        ("3/32", "4 1/32", "9'", "", ""), ("3", "0", "", "", ""), ("3", "49", "", "", ""), ("3", "3 1/2", "", "", ""),
        ("3/32", "", "", "", ""), ("3 or 4", "", "", "", ""), ("3", "16 or 24", "99", "", ""),
        ("12", "16", "6", "", ""), ("3.", "16″", "99", "2", ""), ("3", "16", "", "3/8 or 1/2", ""),
        ("3", "16", "", "3/8 or 2", ""), ("99999999", "", "", "", ""), ("0.03125", "16 1/32", "50'", "", ""),
        ("", "16", "", "", ""), ("2.54 cm", "10.16 cm", "2.54 m", "", ""), ("4", "4", "80'", "", ""),
        ("4", "4", "60'", "", ""), ("12 3", "16", "", "", ""),
    ]
]  # fmt: skip


@pytest.mark.parametrize("length", LEDGERS)
def test_a_row_of_fasteners_lies_at_the_same_places_with_signal_and_without(desktop, inspector, client, length):
    visit = make_visit(inspector, state="under_way")
    ledger = add_part(visit, "ledger", by=inspector, readings={"length_in": length} if length else {})
    address = reverse("fasteners-add", args=[visit.pk, ledger.pk])
    record = {**snapshot(visit), "kit": kit(visit)}
    page = desktop(inspector)
    page.goto("/")
    theirs = page.evaluate(ROW_AT_THE_TABLET, [record, address, ROWS])
    client.force_login(inspector)
    ours = [places_at_the_server(client, visit, address, row) for row in ROWS]
    assert [told for told in zip(ROWS, ours, theirs, strict=True) if told[1] != told[2]] == []
    assert any(ours) and not all(ours)


def places_at_the_server(client, visit, address, row):
    answer = client.post(address, row, headers={"HX-Request": "true"})
    parts = Part.objects.filter(visit=visit, kind="fastener")
    places = [part.readings.get(fact="position_in").value for part in sorted(parts, key=lambda one: int(one.key[1:]))]
    assert answer.status_code == (200 if places else 422)
    parts.delete()
    return places or None

"""The history as the manager reads it: filtered, page by page, and taken along as a sheet."""

import csv
import io
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firm import audit
from firm.audit.models import AuditEntry
from tests.make import make_client, make_visit


@pytest.fixture
def told(manager, office, inspector):
    visit = make_visit(inspector)
    client = make_client("Orla Quince")
    audit.record(office, "booked", visit, None, {"state": "booked"})
    audit.record(manager, "renamed", client, {"name": "Orla Quinz"}, {"name": "Orla Quince"})
    audit.record(None, "released", visit)
    connection.check_constraints()
    return visit, client


@pytest.fixture
def read(signed_in, manager):
    client = signed_in(manager)
    return lambda **filters: client.get(reverse("audit-trail"), filters).content.decode()


def test_each_line_says_who_did_what_and_what_it_was_before(told, read):
    html = read()
    assert "3 lines" in html
    assert "Orla Quinz" in html and "renamed" in html and "Soundings</strong> released" in html


@pytest.mark.parametrize(
    ("filters", "count"),
    [
        ({"kind": "clients.client"}, "1 line"),
        ({"words": "booked"}, "1 line"),
        ({"words": "orla quince"}, "1 line"),
        ({"since": "2100-01-01"}, "0 lines"),
        ({"until": "2100-01-01"}, "3 lines"),
        ({"since": "not a day"}, "0 lines"),
        ({"by": "999999"}, "0 lines"),
        ({"words": "\x00"}, "0 lines"),
    ],
)
def test_filters_stand_in_the_address_and_nonsense_finds_nothing(told, read, filters, count):
    assert f">{count}<" in read(**filters)


def test_one_record_s_own_history_is_a_tap_away(told, read):
    visit, _ = told
    assert ">2 lines<" in read(kind="visits.visit", number=visit.pk)


def test_a_day_is_a_day_of_the_firms_clock(read):
    """11 p.m. on the 24th in New York is the 25th in UTC."""
    AuditEntry.objects.create(
        at=datetime(2026, 11, 25, 4, tzinfo=UTC), verb="booked", subject_type="visits.visit", subject_id="1",
        subject_label="x",
    )  # fmt: skip
    connection.check_constraints()
    assert ">1 line<" in read(since="2026-11-24", until="2026-11-24")
    assert ">0 lines<" in read(since="2026-11-25")


def test_the_sheet_holds_the_digests_and_no_formula(told, signed_in, manager):
    audit.record(manager, "renamed", make_client('=HYPERLINK("x")'))
    connection.check_constraints()
    answer = signed_in(manager).get(reverse("audit-csv"))
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row["did"] for row in rows] == ["renamed", "released", "renamed", "booked"]
    assert rows[0]["record"].startswith("'=")
    assert rows[3]["sha256"] == AuditEntry.objects.get(verb="booked").sha256


def test_reading_takes_the_same_number_of_queries_however_long_it_is(told, read, manager):
    def queries():
        with CaptureQueriesContext(connection) as taken:
            html = read()
        return len(taken), html

    read()  # fills what is kept between requests
    few, _ = queries()
    for number in range(60):
        audit.record(manager, f"step {number}", told[0])
    many, html = queries()
    assert many == few
    assert "Page 1 of 2" in html

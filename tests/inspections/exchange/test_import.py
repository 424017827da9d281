import csv
import io
from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import Workbook

from firm.audit.models import AuditEntry
from firm.clients.models import Client
from firm.hours.models import TimeOff
from firm.hours.services import take_time_off
from firm.jobs.work import run_job
from firm.properties.models import Property
from inspections.exchange.models import Import
from inspections.exchange.services import look_at, run, take_over
from inspections.personal.copies import take_away
from inspections.visits.models import Visit
from tests.make import in_days, make_client, make_property, make_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def look(administrator):
    """`look("clients", content)`: the job after the worker looked at the table."""

    def send(what, content, name="table.csv"):
        content = content.encode() if isinstance(content, str) else content
        job = look_at(SimpleUploadedFile(name, content), what, by=administrator)
        run_job(Import, job.pk, run)
        job.refresh_from_db()
        return job

    return send


def finish(job, by):
    taken = take_over(job, by=by)
    run_job(Import, job.pk, run)
    job.refresh_from_db()
    return taken


def counts(job):
    assert job.state == "done", job.error
    return job.added, job.skipped, job.refused


def whys(job):
    return {line: why for line, _, why in job.fates}


GOOD = "Name,Phone,Email,Notes\nInes Hallam,207 555 0100,ines@example.org,\nMara Vane,,,Two decks\n"


def test_nothing_is_written_before_somebody_says_so(look, administrator):
    job = look("clients", GOOD)
    assert counts(job) == (2, 0, 0)
    assert not Client.objects.exists()
    assert finish(job, administrator)
    assert sorted(Client.objects.values_list("name", "notes")) == [("Ines Hallam", ""), ("Mara Vane", "Two decks")]
    assert Client.objects.matching("hallam 5550100").count() == 1, "they are found as others are"
    line = AuditEntry.objects.about(job).get(verb="took over")
    assert (line.by, line.after["rows"]) == (administrator, 2)


def test_one_wrong_row_keeps_all_of_them_out(look, administrator):
    job = look("clients", GOOD + "Wren,12,wren@,\n")
    assert counts(job) == (2, 0, 1)
    assert "email: Enter a valid email" in whys(job)[4]
    assert "7 digits or more" in whys(job)[4]
    assert not finish(job, administrator)
    assert not Client.objects.exists()


def test_rows_that_are_there_already_or_twice_are_left_out(look, administrator):
    make_client("Ines Hallam", phone="(207) 555-0100", email="INES@example.org")
    job = look("clients", GOOD + "MARA VANE,,,again\n")
    assert counts(job) == (1, 2, 0)
    assert whys(job) == {2: "Ines Hallam: on file already.", 4: "MARA VANE: stands in line 3 already."}


def test_taking_over_twice_adds_nothing_twice(look, administrator):
    job = look("clients", GOOD)
    assert finish(job, administrator)
    assert not finish(job, administrator)
    Import.objects.filter(pk=job.pk).update(state="waiting")  # as after a worker that died before it could say "done"
    run_job(Import, job.pk, run)
    assert Client.objects.count() == 2


@pytest.mark.parametrize(
    ("encoding", "words"),
    [
        ("utf-8", "UTF-8, commas"),
        ("utf-8-sig", "UTF-8 with its mark"),
        ("utf-16", "UTF-16"),
        ("cp1252", "taken for Windows-1252"),
    ],
)
def test_accents_come_over_from_every_encoding_and_it_is_said_which(encoding, words, look, administrator):
    job = look("clients", "name,notes\nZoë Ångström,O’Brien’s deck\n".encode(encoding))
    assert words in job.format
    finish(job, administrator)
    assert Client.objects.values_list("name", "notes").get() == ("Zoë Ångström", "O’Brien’s deck")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_every_delimiter_and_cells_over_several_lines(delimiter, look, administrator):
    job = look("clients", f'name{delimiter}notes\r\nInes{delimiter}"Two{delimiter} decks\nand a stair"\r\n')
    assert counts(job) == (1, 0, 0)
    finish(job, administrator)
    assert Client.objects.get().notes == f"Two{delimiter} decks\nand a stair"


@pytest.mark.parametrize("cell", ["=cmd()|' /C calc'!A0", "@SUM(A1)", "=1+1"])
def test_a_formula_is_refused(cell, look):
    job = look("clients", f'name,notes\nInes,"{cell}"\n')
    assert whys(job) == {2: "A formula in notes: put its value there."}


def test_what_our_own_tables_put_an_apostrophe_before_comes_back_as_it_was(look, administrator):
    finish(look("clients", "name,phone\nInes,'+1 207 555 0100\n"), administrator)
    assert Client.objects.get().phone == "+1 207 555 0100"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        ("name,price\nInes,3\n", "not known: price"),
        ("phone\n207 555 0100\n", "missing: name"),
        ("name,Name\na,b\n", "same name: name"),
        ('name,"notes\nInes,never ends\n', "cannot be read"),
        (b"PK\x03\x04 no workbook", "no Excel workbook"),
        (b"\xd0\xcf\x11\xe0 old", "old Excel format"),
        (b"name\nIn\x00es\n", "letters of this file"),
    ],
)
def test_what_is_no_table_is_told_why(content, words, look):
    job = look("clients", content)
    assert job.state == "failed"
    assert words in job.error


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Ines,207 555 0100,a,b,c", "more cells than there are columns"),
        ('Ines,,,"a "quoted" word"', "cannot be read"),
        ("Ines,,,#REF!", "An error of the spreadsheet in notes"),
    ],
)
def test_a_row_that_cannot_be_read_is_told_and_the_rows_after_it_too(line, words, look, administrator):
    job = look("clients", f"name,phone,email,notes\nWren,,,\n{line}\nMara Vane,,,\n12,,,\n")
    assert counts(job) == (2, 0, 2)
    assert words in whys(job)[3]
    assert "letters in it" in whys(job)[5]
    assert not finish(job, administrator)


def test_a_quote_that_never_ends_takes_the_rest_of_the_table_with_it_and_says_so(look):
    job = look("clients", 'name,notes\nInes,\nMara,"never ends\nWren,\n')
    assert counts(job) == (1, 0, 1)
    assert "cannot be read" in whys(job)[3]


def test_lines_before_the_heads_that_say_nothing_are_passed_over(look):
    for before in ("\n\n", "sep=;\r\n", "\ufeffsep=;\n\n"):
        job = look("clients", f"{before}name;phone\nInes, the elder;207 555 0100\n")
        assert counts(job) == (1, 0, 0), job.error
        assert "semicolons" in job.format


def test_a_mail_column_is_known_however_it_is_hyphened(look):
    assert counts(look("clients", "Name,E-Mail\nInes,ines@example.org\n")) == (1, 0, 0)


def workbook(*rows, sheets=()):
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    for title in sheets:
        book.create_sheet(title).append(["name"])
    book.save(out)
    return out.getvalue()


def test_a_workbook_is_read_and_its_formulas_are_refused(look, administrator):
    job = look("clients", workbook(["Name", "Phone"], ["Ines", 2075550100], ["Mara", "=1+1"]), "t.xlsx")
    assert job.format == "Excel workbook"
    assert counts(job) == (1, 0, 1)
    finish(look("clients", workbook(["Name", "Phone"], ["Ines", 2075550100.0])), administrator)
    assert Client.objects.get().phone == "2075550100"


def test_of_several_sheets_the_first_is_read_and_it_is_said(look):
    job = look("clients", workbook(["Name"], ["Ines"], sheets=["Old", "Older"]), "t.xlsx")
    assert counts(job) == (1, 0, 0)
    assert job.format == "Excel workbook, only the first of its 3 sheets, “Sheet”"


def test_a_client_who_may_be_on_file_under_another_name_is_pointed_at_and_taken_over(look, administrator):
    make_client("Ines Hallam", phone="(207) 555-0100", email="ines@example.org")
    job = look("clients", "name,phone,email\nI. Hallam,2075550100,\nInez H,,INES@example.org\n"
               "Mara Vane,2075550177,\nM. Vane,207 555 0177,\nWren,,\n")  # fmt: skip
    assert (*counts(job), job.warned) == (5, 0, 0, 3)
    assert whys(job) == {
        2: "I. Hallam: the same number as Ines Hallam, who is on file.",
        3: "Inez H: the same mail address as Ines Hallam, who is on file.",
        5: "M. Vane: the same number as Mara Vane in line 4.",
    }
    assert finish(job, administrator)
    assert Client.objects.count() == 6


def test_houses_find_their_client_and_take_the_rules_of_their_town(look, administrator):
    ines = make_client("Ines Hallam", email="ines@example.org")
    make_property(ines, street="1 Quay", county="Sele", rules_source="Town office, June 2026", frost_depth_in=48)
    make_client("Mara Vane")
    make_client("Mara Vane")
    head = "client,street,town,region,year_built\n"
    job = look("properties", head + "INES@example.org,4 Mill Lane,Harrow Point,Maine,1988\n"
               "ines hallam,4 Mill Ln,Harrow Point,Maine,\nMara Vane,5 Mill Lane,Harrow Point,Maine,\n"
               "Nobody,6 Mill Lane,Harrow Point,Maine,\nInes Hallam,7 Mill Lane,Harrow Point,Maine,88\n")  # fmt: skip
    assert counts(job) == (1, 1, 3)
    assert "2 on file are 'Mara Vane'" in whys(job)[4]
    assert "nobody on file is 'Nobody'" in whys(job)[5]
    assert "year_built" in whys(job)[6]
    assert finish(look("properties", head + "ines@example.org,4 Mill Lane,Harrow Point,Maine,1988\n"), administrator)
    house = Property.objects.get(street="4 Mill Lane")
    assert (house.client, house.frost_depth_in, house.county) == (ines, 48, "Sele")
    assert Client.objects.matching("hallam mill ln").count() == 1


@pytest.fixture
def visits(inspector):
    """A house to which visits go; gives the head and the beginning of a line."""
    make_property(make_client("Mara Vane"), street="4 Mill Lane", town="Harrow Point")
    return "client,street,town,day,time,inspector\n", "Mara Vane,4 Mill Lane,Harrow Point"


def test_visits_to_come_are_taken_over_at_the_firms_clock_and_nobody_is_mailed(look, visits, administrator, inspector):
    head, house = visits
    job = look("visits", f"{head}{house},2027-07-09,2:30 PM,{inspector.username}\n")
    assert counts(job) == (1, 0, 0)
    finish(job, administrator)
    visit = Visit.objects.get()
    assert visit.starts_at == datetime(2027, 7, 9, 18, 30, tzinfo=UTC)
    assert (visit.booked_by, visit.length_minutes) == (administrator, 90)
    assert visit.ends_at == datetime(2027, 7, 9, 20, tzinfo=UTC)
    from firm.mail.models import OutgoingMail

    assert not OutgoingMail.objects.exists()


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("2020-01-05,10:00", "It is over"),
        ("2027-03-14,02:30", "does not exist"),
        ("2027-02-30,10:00", "Write the day"),
        ("2027-07-09,25:00", "Write the time"),
    ],
)
def test_a_time_that_cannot_be_is_told(when, words, look, visits, inspector):
    head, house = visits
    assert words in whys(look("visits", f"{head}{house},{when},{inspector.username}\n"))[2]


def test_a_visit_against_the_plan_or_in_an_hour_that_comes_twice_is_pointed_at(look, visits, inspector, administrator):
    """A calendar that is taken over may have visits at night; whoever takes it over is told."""
    take_time_off(TimeOff(person=inspector, first_day="2027-07-08", last_day="2027-07-08", because="Dentist"), by=None)
    head, house = visits
    name = inspector.username
    times = ("2027-07-07,10:00", "2027-07-07,03:00", "2027-07-08,10:00", "2027-07-10,10:00", "2027-11-07,01:30")
    job = look("visits", head + "".join(f"{house},{when},{name}\n" for when in times))
    assert (*counts(job), job.warned) == (5, 0, 0, 4)
    told = whys(job)
    assert "outside" in told[3] and "Dentist" in told[4] and "does not work on a Saturday" in told[5]
    assert "comes twice" in told[6]
    assert finish(job, administrator)
    assert Visit.objects.count() == 5


def test_a_visit_of_a_year_that_was_mistyped_is_refused(look, visits, inspector):
    head, house = visits
    assert "Check the year" in whys(look("visits", f"{head}{house},2072-07-09,10:00,{inspector.username}\n"))[2]


def test_an_inspector_is_not_sent_to_two_places_at_once(look, visits, inspector):
    head, house = visits
    make_visit(inspector, starts_at=in_days(9, 10))
    day, later = (f"{in_days(days, 10):%Y-%m-%d}" for days in (9, 10))
    job = look("visits", f"{head}{house},{day},10:30,{inspector.username}\n{house},{later},10:00,{inspector.username}\n"
               f"{house},{later},11:00,{inspector.username}\n{house},{later},15:00,somebody\n")  # fmt: skip
    assert counts(job) == (1, 0, 3)
    assert "at another visit of this file" in whys(job)[4]
    assert "nobody who inspects" in whys(job)[5]


def test_the_page_shows_each_rows_fate(signed_in, administrator, look):
    page = signed_in(administrator)
    job = look("clients", GOOD + "12,,,\n")
    shown = page.get(reverse("import-detail", args=[job.pk])).content.decode()
    assert "A name has letters in it." in shown
    assert "Take over" not in shown
    sent = page.post(reverse("exchange"), {"what": "clients", "file": SimpleUploadedFile("c.csv", GOOD.encode())})
    assert sent["Location"] == reverse("import-detail", args=[Import.objects.first().pk])


def test_the_fate_of_every_row_is_taken_away_as_a_table_also_beyond_what_the_page_shows(
    look, signed_in, administrator, settings, tmp_path
):
    settings.MEDIA_ROOT = tmp_path
    make_client("Ines Hallam", phone="207 555 0100")
    rows = [f"=cmd() {number},no phone,," for number in range(700)]
    job = look("clients", "\n".join(["Name,Phone,Email,Notes", "Ines Hallam,207 555 0100,,", "Mara Vane,,,", *rows]))
    assert (counts(job), len(job.fates)) == ((1, 1, 700), 500)
    answer = signed_in(administrator).get(reverse("import-fates", args=[job.pk]))
    table = list(csv.reader(io.StringIO(b"".join(answer.streaming_content).decode("utf-8-sig"))))
    assert table[0] == ["Line", "Fate", "Why"]
    assert [row[1] for row in table[1:3]] == ["left out", "to be added"]
    assert len(table) == 703
    assert not any(row[2].startswith("=") for row in table)


def rows_on(answer):
    """(line, fate, why) of each row that the page shows."""
    return [tuple(row) for row in answer.context["rows"]]


def test_every_row_can_be_read_on_the_page_by_its_fate_and_page_by_page(look, signed_in, administrator):
    make_client("Ines Hallam", phone="207 555 0100")
    wrong = [f"=cmd() {number},no phone,," for number in range(250)]
    fine = [f"Client {chr(65 + number // 26)}{chr(65 + number % 26)},,," for number in range(120)]
    job = look("clients", "\n".join(["Name,Phone,Email,Notes", "Ines Hallam,207 555 0100,,", *wrong, *fine]))
    browser, address = signed_in(administrator), reverse("import-detail", args=[job.pk])
    first = browser.get(address)  # what must be put right comes first
    assert [row[1] for row in rows_on(first)] == ["refused"] * 100
    assert first.context["page"].paginator.count == 250
    seen = [row for page in (1, 2, 3) for row in rows_on(browser.get(address, {"fate": "refused", "page": page}))]
    assert [line for line, _, _ in seen] == list(range(3, 253))
    assert seen[0][2] == "A formula in name: put its value there."
    assert rows_on(browser.get(address, {"fate": "skipped"})) == [(2, "skipped", "Ines Hallam: on file already.")]
    added = browser.get(address, {"fate": "added", "page": 2})
    assert rows_on(added)[0] == (353, "added", "Client DW")
    assert "Client DW" in added.content.decode()
    every = browser.get(address, {"fate": "every", "page": 4})
    assert (every.context["page"].paginator.count, len(rows_on(every))) == (371, 71)
    text = every.content.decode()
    assert "250" in text and "120" in text and "371" in text


@pytest.mark.parametrize("asked", [{"fate": "no-such"}, {"page": "x"}, {"fate": "added", "page": "999"}])
def test_an_address_that_asks_for_what_is_not_there_gets_what_is(asked, look, signed_in, administrator):
    job = look("clients", GOOD)
    answer = signed_in(administrator).get(reverse("import-detail", args=[job.pk]), asked)
    assert [row[2] for row in rows_on(answer)] == ["Ines Hallam", "Mara Vane"]


def test_a_cell_that_looks_like_a_formula_stands_on_the_page_as_it_was_written(look, signed_in, administrator):
    job = look("clients", "name,phone\n-Mara Vane,\n")
    shown = signed_in(administrator).get(reverse("import-detail", args=[job.pk]))
    assert rows_on(shown) == [(2, "added", "-Mara Vane")]


def test_a_table_that_was_looked_at_before_its_fates_were_kept_shows_the_rows_it_told_of(
    signed_in, administrator, look
):
    job = look("clients", GOOD + "12,,,\n")
    Import.objects.filter(pk=job.pk).update(fates_file="")
    shown = signed_in(administrator).get(reverse("import-detail", args=[job.pk]))
    assert rows_on(shown) == [(4, "refused", "name: A name has letters in it.")]


def test_a_table_whose_rows_were_taken_away_with_an_erased_client_says_so(look, signed_in, administrator):
    job = look("clients", GOOD)
    take_away()
    shown = signed_in(administrator).get(reverse("import-detail", args=[job.pk])).content.decode()
    assert "Its rows are no longer kept" in shown
    assert "Hallam" not in shown and "Take over" not in shown


def test_a_second_look_leaves_one_table_of_fates(look, administrator, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    job = look("clients", GOOD)
    finish(job, administrator)
    assert len(list((tmp_path / "exchange" / "fates").iterdir())) == 1

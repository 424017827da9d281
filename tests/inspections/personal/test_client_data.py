"""All about one client in one file; and a client who asks to be taken out, as far as that may be."""

import io
import json
import os
import zipfile
from datetime import timedelta

import pytest
from django.core import mail
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from firm.audit.models import AuditEntry
from firm.clients.models import Client
from firm.clients.services import save_client
from firm.mail.models import OutgoingMail
from firm.mail.services import send_mail_later
from inspections.exchange.models import Export, Import
from inspections.outside.models import Acceptance, Agreement, TimeWish
from inspections.outside.services import accept, write_agreement
from inspections.personal.erasing import NotYet, erase_client, what_stays
from inspections.personal.exporting import export_client
from inspections.reports import guard
from inspections.reports.giving import Wish, give, give_with_the_paper, make_link
from inspections.reports.models import Report, ReportBuild, ReportLink, ReportMail
from inspections.reports.services import issue_report
from tests.inspections.reports.records import draw
from tests.make import make_client, make_property, make_visit


@pytest.fixture
def report(visit, manager):
    """The client's report, issued, with something in the place of its PDF; its mail is sent."""
    report = issue_report(visit, by=manager)
    path = f"reports/{report.number}.pdf"
    default_storage.save(path, ContentFile(b"%PDF-1.7 of Ines Hallam"))
    Report.objects.filter(pk=report.pk).update(pdf=path, pdf_sha256=64 * "0")
    ReportBuild.objects.update(state="done")
    report.refresh_from_db()
    give(visit, Wish("Ines Hallam", "ines@mail.example"), by=manager, email_it=True)
    ReportMail.objects.update(state="done")
    return report


def unpacked(archive):
    with zipfile.ZipFile(io.BytesIO(archive.read())) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def test_the_file_holds_every_record_photo_and_report_of_the_client_and_of_nobody_else(report, administrator):
    client = report.visit.client
    other = make_visit(
        property=make_property(make_client("Somebody Else", email="else@mail.example")), notes="not theirs"
    )
    make_visit(property=report.visit.property, client=other.client, notes="the buyer of the house")
    make_link(report.visit, recipient="Ines Hallam", by=administrator)
    files = unpacked(export_client(client, by=administrator))
    data = json.loads(files["data.json"])
    assert [row["name"] for row in data["clients.client"]] == ["Ines Hallam"]
    assert [row["id"] for row in data["visits.visit"]] == [report.visit_id]
    assert {"survey.reading", "findings.finding", "photos.photo", "reports.report", "audit.auditentry"} <= data.keys()
    assert data["reports.report"][0]["snapshot"] == report.snapshot
    assert files[f"files/{report.pdf.name}"].startswith(b"%PDF")
    assert f"files/{data['photos.photo'][0]['original']}" in files
    text = files["data.json"].decode()
    assert "Somebody Else" not in text and "the buyer of the house" not in text
    assert not any(link.token_hash in text for link in ReportLink.objects.exclude(token_hash=None))
    assert AuditEntry.objects.about(client).first().verb == "exported the data of"


def test_a_file_that_is_gone_is_said_and_does_not_stop_the_rest(report, administrator):
    name = report.pdf.name
    report.pdf.storage.delete(name)
    files = unpacked(export_client(report.visit.client, by=administrator))
    assert files["missing.txt"].decode() == f"{name}\n"


def everything_stored():
    """All rows of all tables as one text, without the history and the sessions."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if table not in ("audit_auditentry", "django_session") and not table.startswith("client_trigrams"):
                cursor.execute(f'SELECT * FROM "{table}"')
                found += [f"{table}: {row}" for row in cursor.fetchall()]
    return found


def erase(client, administrator):
    return erase_client(client, by=administrator, because="By letter of May 3")


def tell(client):
    to = {"to": client.email, "subject": "For Ines", "text": "Dear Ines Hallam"}
    send_mail_later(**to, kind="test", dedupe_key="told")
    OutgoingMail.objects.update(state="done")


def test_the_name_and_every_way_to_reach_the_client_are_gone_from_all_tables_but_the_kept_reports(
    report, administrator
):
    client = report.visit.client
    client.phone, client.notes = "207 555 0100", "Ask for Ines"
    save_client(client, by=administrator)
    tell(client)
    kept = erase(client, administrator)
    words = ("Ines", "Hallam", "ines@mail.example", "2075550100", "207 555 0100")
    left = {row.partition(":")[0] for row in everything_stored() if any(word in row for word in words)}
    assert left == {"reports_report"}
    assert [one.number for one in kept.reports] == [report.number]
    assert client.visits.count() == 1 and client.properties.count() == 1
    line = AuditEntry.objects.order_by("pk").last()
    assert (line.verb, line.after["because"], line.after["reports_kept"]) == (
        "erased the personal data of", "By letter of May 3", [report.number],
    )  # fmt: skip
    assert "Ines" not in f"{line.subject_label}{line.before}{line.after}"
    connection.check_constraints()  # what the commit does: on PostgreSQL the lines are chained there
    assert AuditEntry.objects.verify().misfit is None


def test_a_form_that_was_opened_before_does_not_bring_the_name_back(report, administrator, office, signed_in):
    client = report.visit.client
    address = reverse("client-edit", args=[client.pk])
    page = signed_in(office).get(address)
    typed = {name: page.context["form"][name].value() for name in ("name", "phone", "email", "notes", "seen")}
    erase(client, administrator)
    assert signed_in(office).post(address, {**typed, "phone": "207 555 0143"}).status_code == 422
    client.refresh_from_db()
    assert "Ines" not in client.name and not client.phone


def test_the_clients_link_is_closed_and_that_of_the_contractor_stays(report, administrator):
    make_link(report.visit, recipient="A contractor", by=administrator, email="con@mail.example")
    give_with_the_paper(report, token="on the first page", until=timezone.now() + timedelta(days=30))
    erase(report.visit.client, administrator)
    assert [(link.recipient, link.is_open) for link in ReportLink.objects.order_by("pk")] == [
        (f"Erased client {report.visit.client_id}", False),
        ("A contractor", True),
        (f"Whoever holds report {report.number}", False),
    ]


def let_the_period_end(report):
    guard.lift(connection)
    Report._base_manager.filter(pk=report.pk).update(kept_until=timezone.localdate() - timedelta(days=1))
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE; SET CONSTRAINTS ALL DEFERRED")
    guard.put(connection)


def test_a_report_whose_period_is_over_is_drawn_again_without_the_name(
    report, administrator, django_capture_on_commit_callbacks
):
    let_the_period_end(report)
    old = report.pdf.name
    assert what_stays(report.visit.client).reports == []
    with django_capture_on_commit_callbacks(execute=True):
        erase(report.visit.client, administrator)
    assert not report.pdf.storage.exists(old)
    report = Report.objects.get(pk=report.pk)
    assert report.snapshot["client"]["name"].startswith("Erased client")
    assert [row for row in everything_stored() if "Ines" in row] == []
    draw(report)
    assert report.pdf and report.pdf.name != old
    assert mail.outbox == [], "nobody is told of the drawing"
    with pytest.raises(Exception, match="never changed"):
        Report._base_manager.filter(pk=report.pk).update(what_changed="the guard is back")


def agree(visit, manager):
    """The client accepts the agreement before the visit, and had asked for another time."""
    if Agreement.current() is None:
        write_agreement("We look and do not take apart.", by=manager)
    TimeWish.objects.create(visit=visit, words="Ines is away on Monday", calendar_version=1)
    told = {"name": "Ines Hallam", "address": "203.0.113.9", "browser": "Ines's telephone"}
    return accept(visit, version=Agreement.current().version, **told)


def test_an_accepted_agreement_is_kept_as_long_as_the_report_of_its_visit(report, administrator, manager):
    accepted = agree(report.visit, manager)
    kept = erase(report.visit.client, administrator)
    accepted.refresh_from_db()
    assert (accepted.name, accepted.address) == ("Ines Hallam", "203.0.113.9")
    assert kept.acceptances == [accepted]
    assert TimeWish.objects.get().words == ""


def test_after_that_it_says_that_somebody_accepted_and_not_who_or_from_where(report, administrator, manager):
    accepted = agree(report.visit, manager)
    let_the_period_end(report)
    kept = erase(report.visit.client, administrator)
    assert kept.acceptances == []
    was = accepted.at
    accepted = Acceptance.objects.get(pk=accepted.pk)
    assert accepted.name == f"Erased client {report.visit.client_id}"
    assert (accepted.address, accepted.browser, accepted.at) == (None, "", was)
    assert not [row for row in everything_stored() if "Ines" in row or "203.0.113.9" in row]
    with pytest.raises(Exception, match="never changed"):
        Acceptance.objects.filter(pk=accepted.pk).update(name="the guard is back")


def test_the_acceptance_of_a_visit_without_a_report_goes_at_once(report, administrator, manager):
    called_off = make_visit(property=report.visit.property, client=report.visit.client)
    agree(called_off, manager)
    of_the_report = agree(report.visit, manager)
    type(called_off).objects.filter(pk=called_off.pk).update(state="called_off", called_off_because="Ines fell ill")
    assert erase(report.visit.client, administrator).acceptances == [of_the_report]
    assert Acceptance.objects.get(visit=called_off).name.startswith("Erased client")


def test_the_page_says_that_an_acceptance_stays(report, signed_in, administrator, manager):
    agree(report.visit, manager)
    page = signed_in(administrator).get(reverse("client-data", args=[report.visit.client_id])).content.decode()
    assert "accepted agreement" in page


def test_nothing_is_taken_out_while_a_visit_or_a_mail_is_under_way(visit, manager, administrator):
    with pytest.raises(NotYet, match="not released"):
        erase(visit.client, administrator)
    issue_report(visit, by=manager)
    with pytest.raises(NotYet, match="being drawn"):
        erase(visit.client, administrator)
    ReportBuild.objects.update(state="done")
    give(visit, Wish("Ines Hallam", "ines@mail.example"), by=manager, email_it=True)
    with pytest.raises(NotYet, match="waits to be sent"):
        erase(visit.client, administrator)
    assert Client.objects.get().name == "Ines Hallam"


def test_the_page_asks_for_the_name_and_says_what_stays(report, signed_in, administrator):
    page = reverse("client-data", args=[report.visit.client_id])
    browser = signed_in(administrator)
    assert report.number in browser.get(page).content.decode()
    wrong = browser.post(page, {"because": "By letter", "name": "Ines"})
    assert wrong.status_code == 422 and b"not the name of this client" in wrong.content
    told = browser.post(page, {"because": "Ines Hallam wrote", "name": "Ines Hallam"})
    assert told.status_code == 422 and b"Leave the name out" in told.content
    assert browser.post(page, {"because": "By letter", "name": "ines hallam"}).status_code == 302
    assert b"What stayed" in browser.get(page).content


def test_the_file_is_saved_and_not_opened_in_the_browser(report, signed_in, administrator):
    answer = signed_in(administrator).post(reverse("client-export", args=[report.visit.client_id]))
    assert answer["Content-Disposition"] == f'attachment; filename="client-{report.visit.client_id}.zip"'
    assert "no-store" in answer["Cache-Control"]
    assert zipfile.is_zipfile(io.BytesIO(b"".join(answer.streaming_content)))


@pytest.fixture
def tables(administrator):
    """The firm as tables, written before; and a table that was sent in and looked at. Both hold the client."""
    export = Export(by=administrator, state="done")
    export.file.save("firm.zip", ContentFile(b"Ines Hallam"))
    sent = Import(by=administrator, what="clients", name="hallam.csv", state="done", added=1)
    sent.fates = [[2, "warned", "Ines Hallam looks like somebody"]]
    sent.file.save("table", ContentFile(b"Ines Hallam"), save=False)
    sent.fates_file.save("import.csv", ContentFile(b"Ines Hallam"))
    return export, sent


def test_tables_that_hold_the_client_go_with_the_erasure_and_the_history_says_how_many(
    report, administrator, tables, signed_in, django_capture_on_commit_callbacks
):
    export, sent = tables
    files = [export.file.name, sent.file.name, sent.fates_file.name]
    browser = signed_in(administrator)
    address = reverse("client-data", args=[report.visit.client_id])
    assert "tables written or sent in so far (2," in browser.get(address).content.decode()
    with django_capture_on_commit_callbacks(execute=True):
        erase(report.visit.client, administrator)
    assert not any(default_storage.exists(name) for name in files)
    assert not [row for row in everything_stored() if row.startswith("exchange_") and "allam" in row]
    sent.refresh_from_db()
    assert not sent.may_be_taken_over
    line = AuditEntry.objects.get(verb="erased the personal data of")
    assert line.after["tables_removed"] == 2
    assert browser.get(reverse("export-download", args=[export.pk])).status_code == 404
    assert browser.get(reverse("import-detail", args=[sent.pk])).status_code == 200
    assert browser.get(reverse("import-fates", args=[sent.pk])).status_code == 404
    assert browser.get(reverse("exchange")).status_code == 200
    assert "tables written or sent in so far" not in browser.get(address).content.decode()


def test_files_that_a_killed_worker_left_without_a_row_go_too_and_a_table_that_is_just_coming_in_stays(
    report, administrator, settings, django_capture_on_commit_callbacks
):
    left = [default_storage.save(f"exchange/{name}", ContentFile(b"Ines Hallam")) for name in ("out/a.zip", "fates/b")]
    old, coming = (default_storage.save(f"exchange/in/{name}", ContentFile(b"Ines")) for name in ("old", "coming"))
    long_ago = timezone.now().timestamp() - 7200
    os.utime(default_storage.path(old), (long_ago, long_ago))
    with django_capture_on_commit_callbacks(execute=True):
        erase(report.visit.client, administrator)
    assert [name for name in (*left, old, coming) if default_storage.exists(name)] == [coming]


def test_mails_to_the_client_that_were_written_as_files_go_and_those_to_others_stay(
    report, administrator, settings, tmp_path, django_capture_on_commit_callbacks
):
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    settings.EMAIL_FILE_PATH.mkdir()
    for name, to in (("a", "Ines Hallam <INES@mail.example>"), ("b", "Somebody Else <else@mail.example>")):
        (settings.EMAIL_FILE_PATH / f"{name}.eml").write_text(f"To: {to}\nSubject: For you\n\nDear you\n")
    with django_capture_on_commit_callbacks(execute=True):
        erase(report.visit.client, administrator)
    assert [path.name for path in settings.EMAIL_FILE_PATH.iterdir()] == ["b.eml"]


@pytest.mark.parametrize("state", ["waiting", "running"])
def test_no_client_is_erased_while_a_worker_writes_the_firm_as_tables(report, administrator, state):
    lease = timezone.now() + timedelta(seconds=20) if state == "running" else None
    Export.objects.create(by=administrator, state=state, lease_until=lease)
    with pytest.raises(NotYet, match="Tables"):
        erase(report.visit.client, administrator)


def test_the_backups_that_still_hold_the_client_are_counted_before_and_after(
    report, administrator, signed_in, settings, tmp_path
):
    settings.BACKUP_DIR = tmp_path
    (tmp_path / "soundings-daily-2027-03-09T020000Z.tar.age").touch()
    (tmp_path / "soundings-manual-2027-03-09T020000Z.tar").touch()
    page = signed_in(administrator).get(reverse("client-data", args=[report.visit.client_id])).content.decode()
    assert "2 backups in the firm" in page
    assert erase(report.visit.client, administrator).backups == 2
    assert AuditEntry.objects.get(verb="erased the personal data of").after["backups_that_hold_it"] == 2

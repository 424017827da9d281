"""Issuing freezes the record: one version however often it is pressed, and nothing done later changes it."""

import json
import threading

import pytest
from django.core.files.storage import default_storage
from django.db import connection

from firm.audit.models import AuditEntry
from firm.branding.models import Firm
from inspections.findings.models import Finding
from inspections.photos.models import Photo
from inspections.reports.models import IssuedIsFinal, Report, ReportBuild
from inspections.reports.refusals import NothingChanged, NotReady, WrongState
from inspections.reports.services import issue_report
from inspections.reports.snapshot import as_text, sha256_of
from inspections.survey.models import Reading
from tests.inspections.reports.records import add_finding, add_photo, handed_in_visit

pytestmark = pytest.mark.django_db


def test_a_released_visit_has_one_report_one_build_and_an_audit_line(visit, manager):
    report = issue_report(visit, by=manager)
    visit.refresh_from_db()
    assert (report.version, visit.state, visit.released_at) == (1, "released", report.issued_at)
    assert ReportBuild.objects.get().report == report
    assert AuditEntry.objects.about(report).get().verb == "issued"


def test_the_snapshot_is_plain_json_and_its_hash_is_that_of_its_text(visit, manager):
    report = Report.objects.get(pk=issue_report(visit, by=manager).pk)
    assert json.loads(as_text(report.snapshot)) == report.snapshot
    assert sha256_of(report.snapshot) == report.snapshot_sha256
    assert report.snapshot["format"] == "soundings record 1"


def test_what_is_changed_after_issuing_does_not_reach_the_report(visit, manager):
    report = issue_report(visit, by=manager)
    before = as_text(report.snapshot)
    Finding.objects.filter(visit=visit).update(title="something else")
    Reading.objects.filter(part__visit=visit).update(value="2x12")
    Photo.objects.filter(visit=visit).update(caption="another", removed_at=visit.handed_in_at)
    firm = Firm.current()
    firm.name = "Renamed & Co"
    firm.save()
    visit.client.name = "Somebody Else"
    visit.client.save()
    stored = Report.objects.get(pk=report.pk)
    assert as_text(stored.snapshot) == before
    assert "Renamed" not in as_text(stored.snapshot) and "something else" not in as_text(stored.snapshot)


def test_a_frozen_photo_is_a_file_of_its_own_and_outlives_the_original(visit, manager):
    report = issue_report(visit, by=manager)
    photo = Photo.objects.get(visit=visit)
    for name in ("thumb", "screen", "printable", "original"):
        getattr(photo, name).delete(save=False)
    for kept in report.snapshot["photos"][0]["files"].values():
        assert default_storage.exists(kept["path"]) and kept["sha256"] in kept["path"]


def test_the_record_tells_how_each_number_was_got(visit, manager, inspector):
    snapshot = issue_report(visit, by=manager).snapshot
    joists = next(part for part in snapshot["parts"] if part["kind"] == "joist_field")
    span = next(reading for reading in joists["readings"] if reading["fact"] == "span_in")
    assert (span["value"], span["typed"], span["how"], span["by"]) == (
        162.0,
        "13' 6",
        "measured",
        inspector.display_name,
    )


def test_every_check_is_frozen_with_its_steps(visit, manager):
    checks = issue_report(visit, by=manager).snapshot["assessment"]["checks"]
    bending = next(check for check in checks if check["id"] == "joist.bending")
    assert bending["verdict"] == "fails" and bending["ratio"] > 1
    assert all({"symbol", "formula", "inputs", "value", "unit", "source"} <= step.keys() for step in bending["steps"])


def test_an_issued_report_can_be_neither_changed_nor_deleted(visit, manager):
    report = issue_report(visit, by=manager)
    report.snapshot = {}
    with pytest.raises(IssuedIsFinal):
        report.save()
    with pytest.raises(IssuedIsFinal):
        report.save(update_fields=["snapshot"])
    with pytest.raises(IssuedIsFinal):
        report.delete()


def test_pressing_twice_gives_the_same_report(visit, manager):
    first = issue_report(visit, by=manager)
    assert issue_report(visit, by=manager) == first
    assert Report.objects.count() == 1


@pytest.mark.parametrize("state", ["booked", "under_way", "sent_back", "called_off"])
def test_only_what_was_handed_in_is_issued(visit, manager, state):
    type(visit).objects.filter(pk=visit.pk).update(state=state, called_off_because="rain")
    with pytest.raises(WrongState):
        issue_report(visit, by=manager)
    assert not Report.objects.exists()


def test_a_record_without_any_part_is_not_ready(visit, manager):
    visit.parts.update(removed_at=visit.handed_in_at)
    with pytest.raises(NotReady) as refused:
        issue_report(visit, by=manager)
    assert "No part of the deck is recorded" in refused.value.gaps[0].words
    visit.refresh_from_db()
    assert visit.state == "handed_in"


def test_a_repair_that_says_nothing_to_do_is_not_ready(visit, manager):
    add_finding(visit, "Post leans", "put_right", how_soon="two_weeks", link="posts", remedy="")
    with pytest.raises(NotReady, match='Put right "Post leans" does not say what to do'):
        issue_report(visit, by=manager)


def test_a_photo_that_is_still_being_prepared_holds_up_the_release(inspector, manager):
    visit = handed_in_visit(inspector, photo=False)
    type(visit).objects.filter(pk=visit.pk).update(state="under_way")
    visit.refresh_from_db()
    add_photo(visit, inspector, ready=False)
    type(visit).objects.filter(pk=visit.pk).update(state="handed_in")
    with pytest.raises(NotReady, match="A photo is still being prepared"):
        issue_report(visit, by=manager)


def test_a_correction_is_a_new_version_that_names_the_old_and_what_changed(visit, manager):
    first = issue_report(visit, by=manager)
    second = issue_report(
        visit, by=manager, what_changed="The summary was too mild.", summary="Stay off. No exception."
    )
    assert (second.version, second.supersedes, second.what_changed) == (2, first, "The summary was too mild.")
    assert Report.objects.get(pk=first.pk).snapshot["visit"]["summary"] == "Stay off it for now."
    assert second.snapshot["visit"]["summary"] == "Stay off. No exception."
    again = issue_report(visit, by=manager, what_changed="The summary was too mild.", summary="Stay off. No exception.")
    assert again == second and Report.objects.count() == 2


def test_a_correction_that_corrects_nothing_is_refused(visit, manager):
    issue_report(visit, by=manager)
    with pytest.raises(NothingChanged, match="version 1"):
        issue_report(visit, by=manager, what_changed="Nothing, really.")


@pytest.mark.django_db(transaction=True)
def test_two_managers_at_the_same_moment_make_one_version(visit, manager):
    issued, ready = [], threading.Barrier(2)

    def press():
        try:
            ready.wait()
            issued.append(issue_report(visit, by=manager).pk)
        finally:
            connection.close()

    pressing = [threading.Thread(target=press) for _ in range(2)]
    for each in pressing:
        each.start()
    for each in pressing:
        each.join()
    assert len(issued) == 2 and len(set(issued)) == 1
    assert Report.objects.count() == ReportBuild.objects.count() == 1

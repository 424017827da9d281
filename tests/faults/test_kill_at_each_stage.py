"""One report whose worker is killed at each stage of its drawing, one after the other: it is there once, and whole."""

import hashlib
import os
import signal
import threading
import time
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connections
from django.utils import timezone
from pypdf import PdfReader

from firm.jobs.work import run_job
from inspections.reports import drawing, fetcher, pdf  # noqa: F401  (what workers need is read before the forks)
from inspections.reports.models import Report, ReportBuild, ReportLink, ReportMail
from inspections.reports.services import issue_report
from tests.inspections.reports.records import handed_in_visit
from tests.make import make_client, make_property

DIED = -signal.SIGKILL


def die(*_args, **_kwargs):
    os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(60)  # not reached: the signal comes first


def at_stage(stage, seconds=0.0):
    """Killed as the row is told the stage, or so long after it."""

    def arm(patch):
        say = ReportBuild.say

        def told(job, words, percent):
            answer = say(job, words, percent)
            if words == stage:
                threading.Timer(seconds, die).start() if seconds else die()
            return answer

        patch.setattr(ReportBuild, "say", told)

    return arm


def in_the_middle_of_the_file(patch):
    def half(file, *_):
        content = file.read()
        yield content[: len(content) // 2]
        die()

    patch.setattr(ContentFile, "chunks", half)


def with_the_file_there_and_no_row(patch):
    put = drawing.put_file
    patch.setattr(drawing, "put_file", lambda *args: (put(*args), die()))


def with_the_row_written_and_not_committed(patch):
    patch.setattr(drawing, "_tell_the_client", die)


def before_it_is_said_done(patch):
    patch.setattr(ReportBuild, "finish", die)


DEATHS = {
    "claimed, nothing begun": lambda patch: patch.setattr(drawing, "issue_of", die),
    "Putting the pages together": at_stage("Putting the pages together"),
    "Setting text and drawings": at_stage("Setting text and drawings"),
    "a moment into the setting": at_stage("Setting text and drawings", 0.3),
    "Writing the file": at_stage("Writing the file"),
    "Storing it": at_stage("Storing it"),
    "half of the file": in_the_middle_of_the_file,
    "the file, not the row": with_the_file_there_and_no_row,
    "the row, not committed": with_the_row_written_and_not_committed,
    "all but the last word": before_it_is_said_done,
}


def killed_worker(build, arm):
    """How a worker ended that took the row up with this death before it."""
    connections.close_all()
    pid = os.fork()
    if pid == 0:
        try:
            for inherited in connections.all(initialized_only=True):
                del connections[inherited.alias]
            arm(pytest.MonkeyPatch())
            run_job(ReportBuild, build.pk, drawing.draw_report)
        finally:
            os._exit(0)  # it lived: this copy of the test must do nothing more
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


@pytest.mark.django_db(transaction=True)
def test_a_report_is_there_once_and_whole_after_a_kill_at_each_of_ten_stages(
    inspector, manager, settings, tmp_path, monkeypatch
):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr("firm.jobs.bell.ring_now", lambda *_: False)
    client = make_client("Ines Hallam", email="ines@mail.example")
    report = issue_report(handed_in_visit(inspector, property=make_property(client), photo=False), by=manager)
    ReportBuild.objects.update(max_attempts=1000)  # five are for work that fails, not for what is killed on purpose
    build = ReportBuild.objects.get()
    for attempt, (stage, arm) in enumerate(DEATHS.items(), 1):
        assert killed_worker(build, arm) == DIED, stage
        build.refresh_from_db()
        assert (build.state, build.attempt) == ("running", attempt), stage
        report.refresh_from_db()
        assert bool(report.pdf) == (stage == "all but the last word"), stage
        assert ReportMail.objects.count() == bool(report.pdf), stage
        ReportBuild.objects.update(lease_until=timezone.now())  # as if its twenty seconds had gone by
    assert run_job(ReportBuild, build.pk, drawing.draw_report)

    report, build = Report.objects.get(), ReportBuild.objects.get()
    assert (build.state, build.attempt) == ("done", len(DEATHS) + 1)
    with default_storage.open(report.pdf.name, "rb") as file:
        content = file.read()
    assert hashlib.sha256(content).hexdigest() == report.pdf_sha256
    with default_storage.open(report.pdf.name, "rb") as file:
        assert len(PdfReader(file).pages) == report.page_count
    assert [path.name for path in Path(tmp_path, "reports").glob("*.pdf")] == [Path(report.pdf.name).name]
    assert ReportMail.objects.count() == 1
    printed = [link.printed_in_id == report.pk for link in ReportLink.objects.all()]
    assert sorted(printed) == [False, True]  # the code on the first page, and the client's own
    assert len(list(Path(tmp_path, "reports").glob(".*.part"))) == 1  # of the one that died in the middle of it

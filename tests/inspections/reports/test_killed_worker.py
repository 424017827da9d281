"""A worker that is killed or held up while it draws: every report is there, each once, and nothing waits for it."""

import os
import signal
import sqlite3
from contextlib import closing

import pytest

from tests.installation import ROOT, wait_until

pytestmark = pytest.mark.process

MAKE = """
from firm.jobs.bell import ring_now
from inspections.reports.models import ReportBuild
from tests.bench.bench_builds import made_reports
for build in made_reports({count}, email="mail.example"):
    ring_now(ReportBuild, build.pk)
"""
SEND = (
    "from firm.mail.services import send_mail_later as send;"
    "send(to='owner@example.test', subject='Your visit', text='On Monday', kind='test', dedupe_key='visit')"
)
SETTINGS = "from firm.settings import *\nJOB_LEASE_S, JOB_HEARTBEAT_S, JOB_SWEEP_S = 4, 1, 1\n"


def shell(app, program):
    said = app.manage("shell", "--no-imports", "-c", program)
    assert said.returncode == 0, said.stderr


def rows(app, question):
    with closing(sqlite3.connect(app.folder / ".data" / "soundings.sqlite3", timeout=20)) as database:
        return database.execute(question).fetchall()


def states(app):
    return sorted(state for (state,) in rows(app, "SELECT state FROM reports_reportbuild"))


def test_a_mail_is_sent_while_reports_are_drawn_and_each_report_of_a_killed_worker_is_there_once(install, mail_server):
    app = install(EMAIL_URL=mail_server.url, PYTHONPATH=str(ROOT), DJANGO_SETTINGS_MODULE="quick_settings")
    (app.folder / "quick_settings.py").write_text(SETTINGS)
    app.start()
    mail_server.may_accept.set()
    shell(app, MAKE.format(count=3))
    wait_until(lambda: states(app) == ["running", "running", "waiting"], 60, "two reports being drawn")
    worker = app.part("--queues long")
    os.killpg(worker, signal.SIGSTOP)  # as if they took as long as one likes
    shell(app, SEND)
    wait_until(lambda: any(b"Your visit" in mail for mail in mail_server.accepted), 30, "the mail")
    assert "done" not in states(app)

    os.killpg(worker, signal.SIGKILL)  # with all its processes, as the power would
    wait_until(lambda: states(app) == ["done"] * 3, 180, "all reports")
    wait_until(lambda: rows(app, "SELECT DISTINCT state FROM reports_reportmail") == [("done",)], 60, "their mails")
    assert rows(app, "SELECT COUNT(*) FROM reports_reportbuild WHERE attempt > 1") == [(2,)]
    named = [name.rpartition("/")[2] for (name,) in rows(app, "SELECT pdf FROM reports_report")]
    files = [path.name for path in (app.folder / ".data" / "media" / "reports").glob("*.pdf")]
    assert sorted(files) == sorted(named) and len(set(named)) == 3
    # Of each report: the code on its first page, and the client's link.
    assert rows(app, "SELECT COUNT(*), COUNT(printed_in_id) FROM reports_reportlink") == [(6, 3)]
    assert sum(b"report-link-" in mail for mail in mail_server.accepted) == 3  # nobody is written to twice

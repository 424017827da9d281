"""A worker that is killed while it draws: every report is there, and each once."""

import json
import os
import signal
import time

import pytest

from tests.installation import wait_until

pytestmark = pytest.mark.process

STATES = """
import json
from inspections.reports.models import Report, ReportBuild, ReportMail
print(json.dumps({
    "builds": sorted([build.state, build.attempt] for build in ReportBuild.objects.all()),
    "pdfs": sorted(report.pdf.name for report in Report.objects.exclude(pdf="")),
    "mails": sorted([mail.state, mail.link.email] for mail in ReportMail.objects.all()),
}))
"""


def look(app):
    said = app.manage("shell", "--no-imports", "-c", STATES)
    assert said.returncode == 0, said.stderr
    return json.loads(said.stdout)


def test_a_report_whose_worker_is_killed_in_the_middle_is_there_once(install):
    app = install(DEMO_PASSWORD="a long demo password")
    app.start("--demo")
    wait_until(lambda: any(state == "running" for state, _ in look(app)["builds"]), 60, "a report being drawn")
    time.sleep(0.5)
    os.killpg(os.getpgid(app.part(" worker ")), signal.SIGKILL)  # the worker with all its processes, as the power would
    wait_until(lambda: all(state == "done" for state, _ in look(app)["builds"]), 120, "all reports")
    found = look(app)
    assert any(attempt > 1 for _, attempt in found["builds"]), "no report was being drawn when the worker was killed"
    assert len(found["pdfs"]) == len(set(found["pdfs"])) == len(found["builds"]) >= 7
    files = [path.name for path in (app.folder / ".data" / "media" / "reports").glob("*.pdf")]
    assert sorted(files) == sorted(name.rpartition("/")[2] for name in found["pdfs"])
    addressed = [address for _, address in found["mails"]]
    assert len(addressed) == len(set(addressed))  # nobody is written to twice

"""Quick work never stands behind long work."""

from celery import current_app

from firm.backup.models import Backup
from firm.jobs.sweep import job_classes
from firm.mail.models import OutgoingMail


def line_of(task_name):
    """Where Celery itself would send it."""
    router = current_app.amqp.Router()
    return router.route({}, task_name)["queue"].name


def test_mails_photos_and_the_sweep_wait_in_one_line_documents_backups_and_tables_in_the_other():
    lines = {job_class._meta.label: line_of(job_class.task_name) for job_class in job_classes()}
    assert {label for label, line in lines.items() if line == "long"} == {
        "reports.ReportBuild",
        "reports.ReportExtract",
        "backup.Backup",
        "exchange.Import",
        "exchange.Export",
        "trends.SummaryBuild",
    }
    assert {lines[label] for label in ("mail.OutgoingMail", "reports.ReportMail", "photos.RenditionJob")} == {"quick"}
    assert line_of("firm.jobs.sweep") == line_of("inspections.visits.remind") == "quick"


def test_a_bell_reaches_the_line_of_its_job(db, monkeypatch):
    sent = []
    monkeypatch.setattr(current_app.amqp, "send_task_message", lambda *_, queue, **__: sent.append(queue.name))
    from firm.jobs.bell import ring_now

    assert ring_now(Backup, 1) and ring_now(OutgoingMail, 1)
    assert sent == ["long", "quick"]

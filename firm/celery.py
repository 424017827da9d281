"""The Celery application. What it carries are bells: row ids that `firm.jobs` looks up."""

import os

from celery import Celery
from celery.signals import worker_init, worker_ready

from firm.jobs.folder import register as register_folder_broker
from firm.jobs.lines import LONG

BACKUP_LOOK_S = 600
REMIND_S = 300
TIDY_S = 3600

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "firm.settings")

register_folder_broker()
app = Celery("soundings")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@app.on_after_finalize.connect
def _schedule_what_returns(sender: Celery, **_: object) -> None:
    from django.conf import settings

    # A tick that nobody took in time is worthless: the next one does the same.
    sender.conf.beat_schedule = {
        **(sender.conf.beat_schedule or {}),
        "sweep": {
            "task": "firm.jobs.sweep",
            "schedule": settings.JOB_SWEEP_S,
            "options": {"expires": settings.JOB_SWEEP_S},
        },
        "answer": {
            "task": "firm.jobs.answer",
            "schedule": settings.JOB_SWEEP_S,
            "args": (LONG,),
            "options": {"expires": settings.JOB_SWEEP_S, "queue": LONG},
        },
        "backup": {"task": "firm.backup.ask_if_due", "schedule": BACKUP_LOOK_S, "options": {"expires": BACKUP_LOOK_S}},
        "remind": {"task": "inspections.visits.remind", "schedule": REMIND_S, "options": {"expires": REMIND_S}},
        "tidy": {"task": "firm.operations.tidy", "schedule": TIDY_S, "options": {"expires": TIDY_S, "queue": LONG}},
    }


@worker_init.connect
def _make_the_broker_folders(**_: object) -> None:
    from firm.jobs.bell import make_broker_folders

    make_broker_folders()


@worker_ready.connect
def _sweep_at_once(sender: object, **_: object) -> None:
    """Take up what the last worker left behind, without waiting for the scheduler."""
    from firm.jobs.tasks import sweep_jobs

    sweep_jobs.delay()

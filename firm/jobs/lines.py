"""The two lines in which work waits, each with workers of its own: a mail never stands behind a long report."""

from typing import Any

QUICK = "quick"  # seconds at most: mails, the renditions of a photo, the sweep
LONG = "long"  # up to minutes: documents, backups, tables in and out
LINES = (QUICK, LONG)


def route(task_name: str, *_: Any, **__: Any) -> dict[str, str]:
    """Celery's question where a task is sent: the line of the job that it works on, else the quick one."""
    from firm.jobs.sweep import job_classes  # Celery asks for this module before Django has its models

    return {"queue": next((job.line for job in job_classes() if job.task_name == task_name), QUICK)}

from typing import Any

from celery import current_app
from django.core import checks

from firm.jobs.sweep import job_classes


@checks.register
def check_that_every_job_has_a_task(**_: Any) -> list[checks.CheckMessage]:
    """A job whose bell no task answers would wait for ever, in silence."""
    return [
        checks.Error(f"{job_class.__name__}.task_name={job_class.task_name!r} is no Celery task", id="jobs.E001")
        for job_class in job_classes()
        if job_class.task_name not in current_app.tasks
    ]

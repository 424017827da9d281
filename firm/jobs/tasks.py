from celery import shared_task

from firm.jobs.sweep import sweep


@shared_task(name="firm.jobs.sweep")
def sweep_jobs() -> None:
    sweep()

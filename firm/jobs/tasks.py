from celery import shared_task

from firm.jobs.sweep import note_worker, sweep


@shared_task(name="firm.jobs.sweep")
def sweep_jobs() -> None:
    sweep()


@shared_task(name="firm.jobs.answer")
def answer_the_scheduler(line: str) -> None:
    note_worker(line)

from celery import shared_task

from inspections.visits.reminders import remind


@shared_task(name="inspections.visits.remind")
def remind_clients() -> None:
    remind()

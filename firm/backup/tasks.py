from celery import shared_task

from firm.backup import services
from firm.backup.models import Backup
from firm.jobs.work import run_job


@shared_task(name=Backup.task_name)
def make_backup(pk: int) -> None:
    run_job(Backup, pk, services.make)


@shared_task(name="firm.backup.ask_if_due")
def ask_if_due() -> None:
    services.ask_if_due()

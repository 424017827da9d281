from celery import shared_task

from firm.jobs.work import run_job
from inspections.exchange import exporting, services
from inspections.exchange.models import Export, Import


@shared_task(name=Import.task_name)
def import_table(pk: int) -> None:
    run_job(Import, pk, services.run)


@shared_task(name=Export.task_name)
def export_firm(pk: int) -> None:
    run_job(Export, pk, exporting.run)

from celery import shared_task

from firm.jobs.work import run_job
from inspections.reports.delivery import send_link
from inspections.reports.drawing import draw_report, draw_report_extract
from inspections.reports.models import ReportBuild, ReportExtract, ReportMail


@shared_task(name=ReportBuild.task_name)
def draw_report_pdf(pk: int) -> bool:
    return run_job(ReportBuild, pk, draw_report)


@shared_task(name=ReportExtract.task_name)
def draw_extract(pk: int) -> bool:
    return run_job(ReportExtract, pk, draw_report_extract)


@shared_task(name=ReportMail.task_name)
def send_report_link(pk: int) -> bool:
    return run_job(ReportMail, pk, send_link)

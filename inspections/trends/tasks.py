from celery import shared_task

from firm.jobs.work import run_job
from inspections.trends.keeping import count_visit
from inspections.trends.models import CountingJob, SummaryBuild
from inspections.trends.summary import draw_summary


@shared_task(name=CountingJob.task_name)
def count_one_visit(pk: int) -> bool:
    return run_job(CountingJob, pk, count_visit)


@shared_task(name=SummaryBuild.task_name)
def draw_trend_summary(pk: int) -> bool:
    return run_job(SummaryBuild, pk, draw_summary)

from celery import shared_task

from firm.jobs.work import run_job
from inspections.photos.models import RenditionJob
from inspections.photos.renditions import make_renditions


@shared_task(name=RenditionJob.task_name)
def make_photo_renditions(pk: int) -> bool:
    return run_job(RenditionJob, pk, make_renditions)

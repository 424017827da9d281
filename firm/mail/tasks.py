from celery import shared_task

from firm.jobs.work import run_job
from firm.mail.deliver import deliver
from firm.mail.models import OutgoingMail


@shared_task(name=OutgoingMail.task_name)
def deliver_mail(pk: int) -> None:
    run_job(OutgoingMail, pk, deliver)

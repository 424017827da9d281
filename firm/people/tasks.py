from celery import shared_task

from firm.jobs.work import run_job
from firm.people.models import PasswordMail
from firm.people.passwords import send


@shared_task(name=PasswordMail.task_name)
def send_password_link(pk: int) -> bool:
    return run_job(PasswordMail, pk, send)

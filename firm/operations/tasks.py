from celery import shared_task

from firm.operations.tidying import tidy


@shared_task(name="firm.operations.tidy")
def tidy_up() -> None:
    tidy()

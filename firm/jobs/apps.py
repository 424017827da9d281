from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class JobsConfig(AppConfig):
    name = "firm.jobs"
    label = "jobs"

    def ready(self) -> None:
        from firm.jobs import checks  # noqa: F401  importing registers them

        autodiscover_modules("tasks")  # Celery imports them in its worker only, but the web server rings by name

from django.apps import AppConfig


class FirmConfig(AppConfig):
    name = "firm"
    label = "firm"

    def ready(self) -> None:
        from firm.celery import app  # a task called from the web server must find the broker that settings name

        app.set_default()

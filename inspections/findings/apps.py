from django.apps import AppConfig
from django.db.models.signals import post_migrate


class FindingsConfig(AppConfig):
    name = "inspections.findings"
    label = "findings"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from inspections.findings.catalogue import load_into_empty_catalogue

        post_migrate.connect(load_into_empty_catalogue, sender=self, dispatch_uid="load the catalogue")

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class ClientsConfig(AppConfig):
    name = "firm.clients"
    label = "clients"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from firm.clients import trigrams

        post_migrate.connect(trigrams.put, sender=self)

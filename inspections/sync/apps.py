from django.apps import AppConfig


class SyncConfig(AppConfig):
    name = "inspections.sync"
    label = "sync"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from inspections.sync import pages  # noqa: F401 (its receiver connects as it is imported)

from django.apps import AppConfig


class TrendsConfig(AppConfig):
    name = "inspections.trends"
    label = "trends"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from inspections.trends import signals  # noqa: F401 (its receivers connect as it is imported)

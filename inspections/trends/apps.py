from django.apps import AppConfig


class TrendsConfig(AppConfig):
    name = "inspections.trends"
    label = "trends"
    default_auto_field = "django.db.models.BigAutoField"

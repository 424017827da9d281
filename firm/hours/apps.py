from django.apps import AppConfig


class HoursConfig(AppConfig):
    name = "firm.hours"
    label = "hours"
    default_auto_field = "django.db.models.BigAutoField"

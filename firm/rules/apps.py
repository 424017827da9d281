from django.apps import AppConfig


class RulesConfig(AppConfig):
    name = "firm.rules"
    label = "rules"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class PropertiesConfig(AppConfig):
    name = "firm.properties"
    label = "properties"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class ClientsConfig(AppConfig):
    name = "firm.clients"
    label = "clients"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class SyncConfig(AppConfig):
    name = "inspections.sync"
    label = "sync"
    default_auto_field = "django.db.models.BigAutoField"

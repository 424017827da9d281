from django.apps import AppConfig


class BackupConfig(AppConfig):
    name = "firm.backup"
    label = "backup"

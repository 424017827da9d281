from django.apps import AppConfig


class SetupConfig(AppConfig):
    name = "firm.setup"
    label = "setup"

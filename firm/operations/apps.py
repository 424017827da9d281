from django.apps import AppConfig


class OperationsConfig(AppConfig):
    name = "firm.operations"
    label = "operations"

from django.apps import AppConfig


class AuditConfig(AppConfig):
    name = "firm.audit"
    label = "audit"

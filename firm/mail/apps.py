from django.apps import AppConfig


class MailConfig(AppConfig):
    name = "firm.mail"
    label = "mail"

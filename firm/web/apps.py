from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "firm.web"
    label = "web"

from django.apps import AppConfig


class SpanishConfig(AppConfig):
    name = "inspections.spanish"
    label = "spanish"

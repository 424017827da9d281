from django.apps import AppConfig


class CalendarConfig(AppConfig):
    name = "inspections.calendar"
    label = "calendar"

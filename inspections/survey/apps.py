from django.apps import AppConfig


class SurveyConfig(AppConfig):
    name = "inspections.survey"
    label = "survey"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class SurveyConfig(AppConfig):
    name = "inspections.survey"
    label = "survey"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from firm.rules.keys import tell_keys
        from inspections.survey.basis import tell_what_can_be_amended

        tell_keys(tell_what_can_be_amended)

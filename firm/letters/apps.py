from django.apps import AppConfig


class LettersConfig(AppConfig):
    name = "firm.letters"
    label = "letters"

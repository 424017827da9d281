from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "firm.people"
    label = "people"

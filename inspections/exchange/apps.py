from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "inspections.exchange"
    label = "exchange"

from django.apps import AppConfig


class OutsideConfig(AppConfig):
    name = "inspections.outside"
    label = "outside"

    def ready(self) -> None:
        from firm.mail import late
        from inspections.outside.services import page_address

        late.register("visit_page", page_address)

from django.apps import AppConfig


class BrandingConfig(AppConfig):
    name = "firm.branding"
    label = "branding"
    default_auto_field = "django.db.models.BigAutoField"

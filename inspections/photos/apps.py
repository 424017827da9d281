from django.apps import AppConfig


class PhotosConfig(AppConfig):
    name = "inspections.photos"
    label = "photos"
    default_auto_field = "django.db.models.BigAutoField"

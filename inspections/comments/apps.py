from django.apps import AppConfig


class CommentsConfig(AppConfig):
    name = "inspections.comments"
    label = "comments"
    default_auto_field = "django.db.models.BigAutoField"

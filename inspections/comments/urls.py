from django.urls import path

from inspections.comments import views

urlpatterns = [
    path("visits/<int:pk>/comments/new/", views.comment_new, name="comment-new"),
    path("comments/<uuid:pk>/answer/", views.comment_answer, name="comment-answer"),
]

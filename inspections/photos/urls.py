from django.urls import path

from inspections.photos import marking, views

urlpatterns = [
    path("visits/<int:visit_pk>/photos/add/", views.photo_add, name="photo-add"),
    path("photos/<uuid:pk>/", views.photo_edit, name="photo-edit"),
    path("photos/<uuid:pk>/marks/", marking.photo_marks, name="photo-marks"),
    path("photos/<uuid:pk>/tile/", views.photo_tile, name="photo-tile"),
    path("photos/<uuid:pk>/remove/", views.photo_remove, name="photo-remove"),
    path("photos/<uuid:pk>/again/", views.photo_again, name="photo-again"),
    path("photos/<uuid:pk>/<slug:rendition>/", views.photo_file, name="photo-file"),
]

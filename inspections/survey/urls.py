from django.urls import path

from inspections.survey import entries, views

urlpatterns = [
    path("visits/<int:pk>/walk/", views.walk, name="walk"),
    path("visits/<int:pk>/walk/start/", views.walk_start, name="walk-start"),
    path("visits/<int:pk>/walk/<slug:slug>/", views.walk_link, name="walk-link"),
    path("visits/<int:pk>/parts/add/", entries.part_add, name="part-add"),
    path("visits/<int:pk>/parts/<uuid:part>/remove/", entries.part_remove, name="part-remove"),
    path("visits/<int:pk>/parts/<uuid:part>/readings/", entries.reading_record, name="reading-record"),
    path("visits/<int:pk>/parts/<uuid:part>/same/", entries.part_same, name="part-same"),
    path("visits/<int:pk>/parts/<uuid:part>/fasteners/", entries.fasteners_add, name="fasteners-add"),
]

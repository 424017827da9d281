from django.urls import path

from inspections.findings import catalogue_views, views

urlpatterns = [
    path("visits/<int:visit_pk>/findings/", views.finding_list, name="finding-list"),
    path("visits/<int:visit_pk>/findings/new/", views.finding_new, name="finding-new"),
    path("visits/<int:visit_pk>/findings/<uuid:pk>/", views.finding_edit, name="finding-edit"),
    path("visits/<int:visit_pk>/findings/<uuid:pk>/remove/", views.finding_remove, name="finding-remove"),
    path("catalogue/", catalogue_views.defect_list, name="defect-list"),
    path("catalogue/new/", catalogue_views.defect_new, name="defect-new"),
    path("catalogue/<int:pk>/", catalogue_views.defect_edit, name="defect-edit"),
]

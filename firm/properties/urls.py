from django.urls import path

from firm.properties import views

urlpatterns = [
    path("properties/", views.property_list, name="property-list"),
    path("properties/csv/", views.property_list_csv, name="property-list-csv"),
    path("clients/<int:pk>/properties/new/", views.property_new, name="property-new"),
    path("properties/<int:pk>/edit/", views.property_edit, name="property-edit"),
]

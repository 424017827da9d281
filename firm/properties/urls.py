from django.urls import path

from firm.properties import views

urlpatterns = [
    path("clients/<int:pk>/properties/new/", views.property_new, name="property-new"),
    path("properties/<int:pk>/edit/", views.property_edit, name="property-edit"),
]

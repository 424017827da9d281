from django.urls import path

from inspections.personal import views

urlpatterns = [
    path("clients/<int:pk>/data/", views.client_data, name="client-data"),
    path("clients/<int:pk>/data/export/", views.client_export, name="client-export"),
]

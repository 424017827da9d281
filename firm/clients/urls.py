from django.urls import path

from firm.clients import views

urlpatterns = [
    path("clients/", views.client_list, name="client-list"),
    path("clients/new/", views.client_new, name="client-new"),
    path("clients/<int:pk>/", views.client_detail, name="client-detail"),
    path("clients/<int:pk>/edit/", views.client_edit, name="client-edit"),
]

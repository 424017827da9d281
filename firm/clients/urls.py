from django.urls import path

from firm.clients import views

urlpatterns = [
    path("clients/", views.client_list, name="client-list"),
    path("clients/csv/", views.client_list_csv, name="client-list-csv"),
    path("clients/twins/", views.client_twins, name="client-twins"),
    path("clients/doubles/", views.doubles, name="client-doubles"),
    path("clients/<int:pk>/merge/<int:other>/", views.client_merge, name="client-merge"),
    path("properties/<int:pk>/merge/<int:other>/", views.house_merge, name="house-merge"),
    path("clients/new/", views.client_new, name="client-new"),
    path("clients/<int:pk>/", views.client_detail, name="client-detail"),
    path("clients/<int:pk>/edit/", views.client_edit, name="client-edit"),
]

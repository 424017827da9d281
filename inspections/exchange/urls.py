from django.urls import path

from inspections.exchange import views

urlpatterns = [
    path("exchange/", views.exchange, name="exchange"),
    path("exchange/imports/<int:pk>/", views.import_detail, name="import-detail"),
    path("exchange/imports/<int:pk>/fates/", views.import_fates, name="import-fates"),
    path("exchange/imports/<int:pk>/take-over/", views.import_take_over, name="import-take-over"),
    path("exchange/exports/", views.export_ask, name="export-ask"),
    path("exchange/exports/<int:pk>/", views.export_download, name="export-download"),
]

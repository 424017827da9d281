from django.urls import path

from firm.branding import views

urlpatterns = [
    path("firm/", views.firm_edit, name="firm-edit"),
    path("firm/logo/", views.firm_logo, name="firm-logo"),
]

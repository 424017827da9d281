from django.urls import path

from firm.audit import views

urlpatterns = [
    path("history/", views.trail, name="audit-trail"),
    path("history.csv", views.trail_csv, name="audit-csv"),
]

from django.urls import path

from firm.operations import views

urlpatterns = [
    path("readyz", views.ready, name="ready"),
    path("operations/", views.operations, name="operations"),
    path("operations/backup/", views.backup_now, name="backup-now"),
    path("operations/<str:kind>/<int:pk>/again/", views.job_again, name="job-again"),
]

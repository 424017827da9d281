from django.urls import path

from inspections.sync import judging, shell, views

urlpatterns = [
    path("sync/", views.sync, name="sync"),
    path("sync/visits/<int:pk>/", views.sync_visit, name="sync-visit"),
    path("sync/engine/<slug:version>.zip", judging.sync_engine, name="sync-engine"),
    path("sync/photos/<uuid:pk>/", views.sync_photo, name="sync-photo"),
    path("sync/problems/", views.sync_problems, name="sync-problems"),
    path("sync/problems/<uuid:pk>/", views.sync_settle, name="sync-settle"),
    path("manifest.webmanifest", shell.manifest, name="manifest"),
    path("worker.js", shell.service_worker, name="service-worker"),
    path("off-line/", shell.off_line, name="off-line"),
]

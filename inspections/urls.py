from django.urls import include, path

_ROOMS = (
    "visits",
    "calendar",
    "survey",
    "findings",
    "photos",
    "comments",
    "reports",
    "trends",
    "outside",
    "exchange",
    "sync",
    "personal",
)

urlpatterns = [path("", include(f"inspections.{room}.urls")) for room in _ROOMS]

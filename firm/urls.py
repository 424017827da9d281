"""Every address. Apps are named by string, so that `firm` does not import `inspections`."""

from django.conf import settings
from django.urls import include, path

from firm.web.views import health

_APPS = ["firm.people", "firm.clients", "firm.properties", "firm.branding", "inspections"]

urlpatterns = [
    path("healthz", health, name="health"),
    *(
        path("", include(f"{app}.urls"))
        for app in _APPS
        if (settings.BASE_DIR / app.replace(".", "/") / "urls.py").exists()
    ),
]

handler403 = "firm.web.errors.forbidden"
handler404 = "firm.web.errors.not_found"
handler500 = "firm.web.errors.server_error"

"""Every address. Apps are named by string, so that `firm` does not import `inspections`."""

from django.urls import include, path

from firm.web.views import health

urlpatterns = [
    path("healthz", health, name="health"),
    path("", include("firm.people.urls")),
    path("", include("firm.clients.urls")),
    path("", include("firm.properties.urls")),
    path("", include("firm.rules.urls")),
    path("", include("firm.hours.urls")),
    path("", include("firm.branding.urls")),
    path("", include("firm.letters.urls")),
    path("", include("firm.setup.urls")),
    path("", include("firm.audit.urls")),
    path("", include("firm.operations.urls")),
    path("", include("inspections.urls")),
]

handler400 = "firm.web.errors.bad_request"
handler403 = "firm.web.errors.forbidden"
handler404 = "firm.web.errors.not_found"
handler500 = "firm.web.errors.server_error"

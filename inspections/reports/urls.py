from django.urls import path

from inspections.reports.views import client, desk, draft, issued, links

urlpatterns = [
    path("review/", desk.review_list, name="review-list"),
    path("visits/<int:pk>/review/", desk.review_detail, name="review-detail"),
    path("visits/<int:pk>/draft/", draft.report_draft, name="report-draft"),
    path("visits/<int:pk>/release/", desk.report_release, name="report-release"),
    path("visits/<int:pk>/correct/", desk.report_correct, name="report-correct"),
    path("visits/<int:pk>/reopen/", desk.report_reopen, name="report-reopen"),
    path("reports/<int:pk>/", issued.report_progress, name="report-progress"),
    path("reports/<int:pk>/again/", issued.report_again, name="report-again"),
    path("reports/<int:pk>/stop/", issued.report_stop, name="report-stop"),
    path("reports/<int:pk>/report.pdf", issued.report_pdf, name="report-pdf"),
    path("visits/<int:pk>/links/new/", links.link_new, name="link-new"),
    path("links/<int:pk>/revoke/", links.link_revoke, name="link-revoke"),
    path("links/<int:pk>/again/", links.link_again, name="link-again"),
    path("links/mails/<int:pk>/came-back/", links.link_came_back, name="link-came-back"),
    path("r/<str:token>/", client.client_report, name="client-report"),
    path("r/<str:token>/report.pdf", client.client_report_pdf, name="client-report-pdf"),
    path("r/<str:token>/version/<int:version>/", client.client_report_version, name="client-report-version"),
    path("r/<str:token>/version/<int:version>/report.pdf", client.client_report_pdf, name="client-report-version-pdf"),
    path("r/<str:token>/language/", client.client_report_language, name="client-report-language"),
    path("r/<str:token>/done/<uuid:finding>/", client.client_report_done, name="client-report-done"),
    path("r/<str:token>/photos/<uuid:photo>/", client.client_report_picture, name="client-report-picture"),
    path("r/<str:token>/logo/", client.client_report_logo, name="client-report-logo"),
    path("r/<str:token>/photos/<uuid:photo>/<slug:rendition>/", client.client_report_photo, name="client-report-photo"),
    path("r/<path:token>/", client.client_nowhere, name="client-nowhere"),
]

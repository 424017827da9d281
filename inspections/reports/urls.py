from django.urls import path

from inspections.reports.views import client, desk, issued, links

urlpatterns = [
    path("review/", desk.review_list, name="review-list"),
    path("visits/<int:pk>/review/", desk.review_detail, name="review-detail"),
    path("visits/<int:pk>/release/", desk.report_release, name="report-release"),
    path("visits/<int:pk>/correct/", desk.report_correct, name="report-correct"),
    path("reports/<int:pk>/", issued.report_progress, name="report-progress"),
    path("reports/<int:pk>/again/", issued.report_again, name="report-again"),
    path("reports/<int:pk>/report.pdf", issued.report_pdf, name="report-pdf"),
    path("visits/<int:pk>/links/new/", links.link_new, name="link-new"),
    path("links/<int:pk>/revoke/", links.link_revoke, name="link-revoke"),
    path("r/<str:token>/", client.client_report, name="client-report"),
    path("r/<str:token>/report.pdf", client.client_report_pdf, name="client-report-pdf"),
    path("r/<str:token>/logo/", client.client_report_logo, name="client-report-logo"),
    path("r/<str:token>/photos/<uuid:photo>/<slug:rendition>/", client.client_report_photo, name="client-report-photo"),
]

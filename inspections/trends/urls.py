from django.urls import path

from inspections.trends.views import behind, kept, pages

urlpatterns = [
    path("trends/", pages.trends, name="trends"),
    path("trends/changed/", pages.trends_changed, name="trends-changed"),
    path("trends/together/", pages.trends_together, name="trends-together"),
    path("trends/repaired/", pages.trends_repaired, name="trends-repaired"),
    path("trends/measured/", pages.trends_measured, name="trends-measured"),
    path("trends/alike/", pages.trends_alike, name="trends-alike"),
    path("trends/visits/", behind.trend_visits, name="trend-visits"),
    path("trends/figures.csv", behind.trend_figures, name="trend-figures"),
    path("trends/rows.csv", behind.trend_rows, name="trend-rows"),
    path("trends/views/", kept.trend_view_save, name="trend-view-save"),
    path("trends/views/<int:pk>/remove/", kept.trend_view_remove, name="trend-view-remove"),
    path("trends/notices/<int:pk>/", kept.trend_notice_read, name="trend-notice-read"),
    path("trends/summary/", kept.trend_summary_ask, name="trend-summary-ask"),
    path("trends/summary/<int:pk>/", kept.trend_summary, name="trend-summary"),
    path("trends/summary/<int:pk>/summary.pdf", kept.trend_summary_pdf, name="trend-summary-pdf"),
]

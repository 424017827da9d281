from django.urls import path

from inspections.trends import views

urlpatterns = [
    path("trends/", views.trends, name="trends"),
    path("trends/visits/", views.trend_visits, name="trend-visits"),
]

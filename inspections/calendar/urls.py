from django.urls import path

from inspections.calendar import views

urlpatterns = [
    path("calendar/", views.calendar, name="calendar"),
    path("calendar/shift/", views.calendar_shift, name="calendar-shift"),
]

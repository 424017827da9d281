from django.urls import path

from firm.hours import views

urlpatterns = [
    path("hours/", views.hours, name="hours"),
    path("hours/<int:pk>/", views.hours_edit, name="hours-edit"),
    path("hours/days-off/", views.time_off_add, name="time-off-add"),
    path("hours/days-off/<int:pk>/remove/", views.time_off_remove, name="time-off-remove"),
    path("hours/allowances/", views.allowances_save, name="allowances-save"),
    path("hours/public-holidays/", views.public_holidays_page, name="public-holidays"),
]

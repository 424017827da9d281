from django.urls import path

from firm.setup import views

urlpatterns = [
    path("set-up/", views.set_up, name="set-up"),
    path("set-up/leave/", views.set_up_leave, name="set-up-leave"),
    path("set-up/<slug:step>/", views.set_up_step, name="set-up-step"),
]

from django.urls import path

from inspections.visits import views

urlpatterns = [path("", views.home, name="home")]

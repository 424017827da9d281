from django.urls import path

from inspections.outside import views

urlpatterns = [
    path("v/<str:token>/", views.client_visit, name="client-visit"),
    path("v/<str:token>/confirm/", views.client_visit_confirm, name="client-visit-confirm"),
    path("v/<str:token>/another-time/", views.client_visit_ask, name="client-visit-ask"),
    path("v/<str:token>/language/", views.client_visit_language, name="client-visit-language"),
    path("v/<str:token>/agreement/", views.client_visit_accept, name="client-visit-accept"),
    path("calendar/feed/", views.calendar_feed, name="calendar-feed"),
    path("f/<str:token>/inspections.ics", views.calendar_feed_read, name="calendar-feed-read"),
    path("time-wishes/<int:pk>/put-aside/", views.time_wish_put_aside, name="time-wish-put-aside"),
    path("firm/agreement/", views.agreement_edit, name="agreement-edit"),
]

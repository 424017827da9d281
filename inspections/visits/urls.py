from django.urls import path

from inspections.visits.views import book, browse, lists, steps, today

urlpatterns = [
    path("", today.home, name="home"),
    path("visits/", browse.visit_list, name="visit-list"),
    path("visits/csv/", browse.visit_list_csv, name="visit-list-csv"),
    path("visits/book/", book.visit_book, name="visit-book"),
    path("visits/day/", book.visit_day, name="visit-day"),
    path("lists/", lists.visit_lists, name="visit-lists-today"),
    path("lists/<slug:which>/", lists.visit_lists, name="visit-lists"),
    path("lists/<slug:which>/csv/", lists.visit_lists_csv, name="visit-lists-csv"),
    path("lists/<slug:which>/keep/", lists.saved_list_add, name="saved-list-add"),
    path("lists/kept/<int:pk>/remove/", lists.saved_list_remove, name="saved-list-remove"),
    path("visits/<int:pk>/confirm/", steps.visit_confirm, name="visit-confirm"),
    path("visits/<int:pk>/not-begun/", steps.visit_not_begun, name="visit-not-begun"),
    path("visits/<int:pk>/", browse.visit_detail, name="visit-detail"),
    path("visits/<int:pk>/move/", steps.visit_move, name="visit-move"),
    path("visits/<int:pk>/give-up-time/", steps.visit_give_up, name="visit-give-up"),
    path("visits/<int:pk>/call-off/", steps.visit_call_off, name="visit-call-off"),
    path("visits/<int:pk>/book-again/", steps.visit_book_again, name="visit-book-again"),
    path("visits/<int:pk>/begin/", steps.visit_begin, name="visit-begin"),
    path("visits/<int:pk>/take-rules/", steps.visit_take_rules, name="visit-take-rules"),
    path("visits/<int:pk>/hand-in/", steps.visit_hand_in, name="visit-hand-in"),
    path("visits/<int:pk>/send-back/", steps.visit_send_back, name="visit-send-back"),
]

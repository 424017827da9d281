from django.urls import path

from firm.rules import views

urlpatterns = [
    path("rules/", views.rule_sets, name="rule-sets"),
    path("rules/csv/", views.rule_sets_csv, name="rule-sets-csv"),
    path("rules/new/", views.rule_set_new, name="rule-set-new"),
    path("rules/<int:pk>/", views.rule_set_edit, name="rule-set-edit"),
    path("rules/<int:pk>/amendments/", views.amendment_add, name="amendment-add"),
    path("rules/amendments/<int:pk>/remove/", views.amendment_remove, name="amendment-remove"),
    path("rules/confirmations/", views.confirmation_add, name="confirmation-add"),
    path("rules/confirmations/<int:pk>/remove/", views.confirmation_remove, name="confirmation-remove"),
]

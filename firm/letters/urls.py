from django.urls import path

from firm.letters import views

urlpatterns = [
    path("firm/mails/", views.letters, name="letters"),
    path("firm/mails/<slug:key>/", views.letter_edit, name="letter-edit"),
    path("firm/mails/<slug:key>/first-words/", views.letter_first_words, name="letter-first-words"),
]

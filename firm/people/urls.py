from django.urls import path

from firm.people import views

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("password/", views.change_password, name="change-password"),
    path("people/", views.people, name="people"),
    path("people/add/", views.person_add, name="person-add"),
    path("people/<int:pk>/", views.person_edit, name="person-edit"),
]

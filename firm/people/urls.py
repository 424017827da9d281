from django.urls import path

from firm.people import passkey_views, views

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("password/", views.change_password, name="change-password"),
    path("sign-in/code/", views.second_step_page, name="second-step"),
    path("sign-in/passkey/", passkey_views.sign_in, name="passkey-sign-in"),
    path("sign-in/passkey/question/", passkey_views.question, name="passkey-question"),
    path("password/forgotten/", views.password_forgotten, name="password-forgotten"),
    path("password/set/<uidb64>/<token>/", views.set_password, name="set-password"),
    path("my-sign-in/", views.my_sign_in, name="my-sign-in"),
    path("my-sign-in/second-factor/", views.second_factor_set_up, name="second-factor"),
    path("my-sign-in/second-factor/off/", views.second_factor_off, name="second-factor-off"),
    path("my-sign-in/passkeys/add/", passkey_views.add, name="passkey-add"),
    path("my-sign-in/passkeys/add/question/", passkey_views.question_to_make, name="passkey-add-question"),
    path("my-sign-in/passkeys/<int:pk>/remove/", passkey_views.remove, name="passkey-remove"),
    path("my-sign-in/devices/", views.sign_out_devices, name="sign-out-devices"),
    path("people/", views.people, name="people"),
    path("people/add/", views.person_add, name="person-add"),
    path("people/<int:pk>/", views.person_edit, name="person-edit"),
    path("people/<int:pk>/invite/", views.person_invite, name="person-invite"),
    path("people/<int:pk>/shut-out/", views.person_shut_out, name="person-shut-out"),
]

"""The screens of django-allauth that the portal uses, by the names that allauth gives them.

There is no sign-up, no social login and no change of the e-mail address: an applicator invites
people, and a new address is a new invitation.
"""

from allauth.account import views as account
from django.urls import include, path, re_path

from portal.accounts import passkeys, views

urlpatterns = [
    path("login/", account.login, name="account_login"),
    path("login/code/", account.request_login_code, name="account_request_login_code"),
    path("login/code/confirm/", account.confirm_login_code, name="account_confirm_login_code"),
    path("logout/", account.logout, name="account_logout"),
    path("inactive/", account.account_inactive, name="account_inactive"),
    path("signup/", views.no_sign_up, name="account_signup"),
    path("reauthenticate/", account.reauthenticate, name="account_reauthenticate"),
    path("password/change/", account.password_change, name="account_change_password"),
    path("password/set/", account.password_set, name="account_set_password"),
    path("password/reset/", account.password_reset, name="account_reset_password"),
    path("password/reset/done/", account.password_reset_done, name="account_reset_password_done"),
    re_path(
        r"^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
        account.password_reset_from_key,
        name="account_reset_password_from_key",
    ),
    path(
        "password/reset/key/done/",
        account.password_reset_from_key_done,
        name="account_reset_password_from_key_done",
    ),
    path("2fa/webauthn/add/", passkeys.Add.as_view(), name="mfa_add_webauthn"),
    path("2fa/webauthn/keys/<int:pk>/edit/", passkeys.Rename.as_view(), name="mfa_edit_webauthn"),
    path(
        "2fa/webauthn/keys/<int:pk>/remove/", passkeys.Remove.as_view(), name="mfa_remove_webauthn"
    ),
    path("2fa/", include("allauth.mfa.urls")),
    path("sessions/", views.Sessions.as_view(), name="usersessions_list"),
]

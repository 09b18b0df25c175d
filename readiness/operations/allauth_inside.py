"""What django-allauth does for us by parts of it that are not public: all of them, and only here.

They were read in the version `READ_IN`, which a test compares with what is installed.
"""

from collections.abc import Callable

from allauth.account.forms import default_token_generator
from allauth.account.internal.flows.login import record_authentication
from allauth.account.utils import perform_login, user_pk_to_url_str
from allauth.mfa.models import Authenticator
from allauth.mfa.utils import is_mfa_enabled
from django.urls import reverse

READ_IN = "65.21.1"
SECOND_FACTORS = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]


def sign_in(request, user, method: str):
    """Sign a person in who proved by `method` who they are; the answer leads them on."""
    record_authentication(request, user, method=method)
    return perform_login(request, user, email=user.email)


def has_second_factor(user) -> bool:
    """Whether an authenticator app or a passkey is set up; recovery codes alone are none."""
    return is_mfa_enabled(user, SECOND_FACTORS)


def password_path(user) -> str:
    """The path of the page where a person chooses a password; it works once, for some days."""
    token = default_token_generator.make_token(user)
    given = {"uidb36": user_pk_to_url_str(user), "key": token}
    return reverse("account_reset_password_from_key", kwargs=given)


def keep_person(form, is_meant: Callable) -> None:
    """Have a checked form that asks for a code find nobody, unless it is meant for who was found.

    It then answers as to an unknown address.
    """
    if form._user is not None and not is_meant(form._user):
        form._user = None


def keep_people(form, is_meant: Callable) -> None:
    """Likewise for the form that sends links for a new password."""
    form.users = [user for user in form.users if is_meant(user)]

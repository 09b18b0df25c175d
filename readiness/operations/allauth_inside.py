"""What django-allauth does for us by parts of it that are not public: all of them, and only here.

They were read in the version `READ_IN`, which a test compares with what is installed.
"""

from collections.abc import Callable
from datetime import UTC, datetime

from allauth.account import app_settings
from allauth.account.adapter import get_adapter
from allauth.account.authentication import get_authentication_records
from allauth.account.forms import default_token_generator
from allauth.account.internal.flows.code_verification import AbstractCodeVerificationProcess
from allauth.account.internal.flows.login import record_authentication
from allauth.account.utils import perform_login, user_pk_to_url_str
from allauth.mfa.models import Authenticator
from allauth.mfa.utils import is_mfa_enabled
from allauth.mfa.webauthn.internal.auth import parse_authentication_response
from allauth.mfa.webauthn.internal.flows import signup_authenticator
from django.conf import settings
from django.urls import reverse

READ_IN = "65.21.1"
SECOND_FACTORS = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]


def sign_in(request, user, method: str):
    """Sign a person in who proved by `method` who they are; the answer leads them on."""
    record_authentication(request, user, method=method)
    return perform_login(request, user, email=user.email)


def methods_used(request, user) -> list[str]:
    """How a person proved who they are in this session: of a second factor, which one."""
    records = get_authentication_records(request, user) if hasattr(request, "session") else []
    return [str(record.get("type") or record.get("method")) for record in records]


def has_second_factor(user) -> bool:
    """Whether an authenticator app or a passkey is set up; recovery codes alone are none."""
    return is_mfa_enabled(user, SECOND_FACTORS)


def has_passkey(user) -> bool:
    """Whether a passkey is set up."""
    return Authenticator.objects.filter(user=user, type=Authenticator.Type.WEBAUTHN).exists()


def add_passkey(request, name: str, credential: dict) -> None:
    """Add a passkey to the account of who is signed in, without the recovery codes of staff."""
    signup_authenticator(request, request.user, name, credential)
    get_adapter().send_notification_mail("mfa/email/webauthn_added", request.user)


def was_verified(credential: dict) -> bool:
    """Whether the device asked for fingerprint, face or PIN before it gave this answer."""
    return parse_authentication_response(credential).response.authenticator_data.is_user_verified()


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


def authentications(request) -> list[tuple[str, datetime, str]]:
    """How the person of this session showed who they are, the newest last.

    Of each by what ("code", "webauthn", "totp", "password", ...), when, and to which address a
    code was sent.
    """
    return [
        (
            record.get("type") or record["method"],
            datetime.fromtimestamp(record["at"], UTC),
            record.get("email", ""),
        )
        for record in get_authentication_records(request, request.user)
    ]


class OwnAddressCode(AbstractCodeVerificationProcess):
    """A code to the address of a person who is signed in, to show that it is still them.

    Kept in their session, with allauth's own limits of time and tries for codes.
    """

    KEY = "own_address_code"

    def __init__(self, request, state: dict):
        self.request = request
        super().__init__(
            state=state,
            timeout=settings.ACCOUNT_LOGIN_BY_CODE_TIMEOUT,
            max_attempts=app_settings.LOGIN_BY_CODE_MAX_ATTEMPTS,
            user=request.user,
        )

    @classmethod
    def start(cls, request) -> "OwnAddressCode":
        """Send a code; one that was sent before counts no more."""
        own = request.user
        process = cls(request, cls.initial_state(user=own, email=own.email))
        process.send()
        process.persist()
        return process

    @classmethod
    def under_way(cls, request) -> "OwnAddressCode | None":
        """The code that was sent, while it works and the address is the same."""
        state = request.session.get(cls.KEY)
        if not state or state.get("email") != request.user.email:
            return None
        process = cls(request, state)
        return process if process.is_valid() else None

    def send(self) -> None:
        adapter = get_adapter()
        self.state["code"] = adapter.generate_login_code()
        adapter.send_mail("account/email/own_code", self.state["email"], {"code": self.code})

    def persist(self) -> None:
        self.request.session[self.KEY] = self.state

    def abort(self) -> None:
        self.request.session.pop(self.KEY, None)

    def finish(self) -> None:
        """The right code was entered: it counts once."""
        self.abort()
        record_authentication(
            self.request,
            self.request.user,
            method="code",
            email=self.state["email"],
            reauthenticated=True,
        )

"""How django-allauth is fitted to this portal: closed doors, our words, encrypted secrets."""

import base64
import hashlib
import logging
from smtplib import SMTPException
from urllib.parse import quote

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, MultiFernet
from django.conf import settings
from django.contrib import messages
from django.core.cache import cache
from django.urls import reverse
from django.utils.encoding import force_bytes

from portal.accounts.security_events import note_by_email
from portal.requests.told_path import told_path
from readiness.actions.people.vouching import vouch_by_address
from readiness.messages.writing import sender
from readiness.models import Business, SecurityKind
from readiness.operations.allauth_inside import authentications, has_passkey

log = logging.getLogger(__name__)

UNKNOWN, A_DAY_SECONDS = "account/email/unknown_account", 24 * 3600
MAILS = {
    "account/email/login_code": (SecurityKind.CODE_SENT, SecurityKind.CODE_NOT_SENT),
    "account/email/password_reset_key": (
        SecurityKind.LINK_SENT,
        SecurityKind.CODE_NOT_SENT,
    ),
    UNKNOWN: (SecurityKind.STRANGER_ASKED, SecurityKind.STRANGER_ASKED),
}
"""What the security log says of an e-mail that went, and of one that did not."""
TOO_MANY = {"too_many_login_attempts", "rate_limited"}
NO_MAIL = "our mail server does not answer. Try again in a few minutes."


class AccountAdapter(DefaultAccountAdapter):
    """Nobody signs up by themselves; a contact who was switched off is kept out."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "email_password_mismatch": "That e-mail address or password is wrong.",
        "too_many_login_attempts": "Too many tries. Wait five minutes, then try again.",
        "incorrect_code": "Wrong code. Check it, or ask for a new one.",
        "too_many_codes": (
            "Too many codes were asked for. Wait five minutes and try again; after ten in one day, "
            "tomorrow."
        ),
        "rate_limited": "Too many tries. Wait a few minutes, then try again.",
    }

    def is_open_for_signup(self, request):
        return False

    def pre_login(self, request, user, **kwargs):
        if not user.is_applicator and not user.is_contact:
            return self.respond_user_inactive(request, user)
        return super().pre_login(request, user, **kwargs)

    def post_login(self, request, user, **kwargs):
        """Who came in by a code reads the mail to their address."""
        if [how for how, _at, _to in authentications(request)][-1:] == ["code"]:
            vouch_by_address(user)
        return super().post_login(request, user, **kwargs)

    def get_reauthentication_methods(self, user):
        """The ways to prove that it is still you, a passkey by the name it has elsewhere."""
        if user.is_authenticated and not user.is_applicator:
            return _ways_of_a_contact(user)
        methods = super().get_reauthentication_methods(user)
        for method in methods:
            if method["url"] == reverse("mfa_reauthenticate_webauthn"):
                method["description"] = "Use a passkey"
        return methods

    def get_password_change_redirect_url(self, request):
        return reverse("accounts:profile")

    def get_reset_password_from_key_url(self, key):
        """The address that everybody knows the portal by, whatever name a request came under."""
        own = reverse("account_reset_password_from_key", args=["UID", "KEY"])
        return settings.SITE_URL + own.replace("UID-KEY", quote(key))

    def get_from_email(self) -> str:
        return sender(Business.current())

    def send_notification_mail(self, template_prefix, user, context=None, email=None):
        """That a passkey, a code or the password changed: what to do if it was somebody else."""
        told = {**(context or {}), "is_contact": not user.is_applicator}
        super().send_notification_mail(template_prefix, user, told, email)

    def send_mail(self, template_prefix, email, context):
        if template_prefix == UNKNOWN and not cache.add(_mailed_key(email), True, A_DAY_SECONDS):
            return  # a stranger is told once a day that there is no account; the page is the same
        sent, failed = MAILS.get(template_prefix, (None, None))
        extra = {"business": Business.current(), "site_url": settings.SITE_URL}
        try:
            super().send_mail(template_prefix, email, {**context, **extra})
        except (OSError, SMTPException):
            log.exception("%s could not be e-mailed", template_prefix)
            messages.error(self.request, NO_MAIL)
            sent = failed
        if sent:
            note_by_email(sent, email)

    def validation_error(self, code, *args):
        """Too many tries are an event of the security log, wherever a form says so."""
        if code in TOO_MANY:
            sent = self.request.POST
            typed = sent.get("login") or sent.get("email") or ""
            note_by_email(SecurityKind.TOO_MANY, typed, path=told_path(self.request))
        return super().validation_error(code, *args)


def _ways_of_a_contact(user) -> list[dict]:
    """A passkey where there is one, else a code; contacts have no password."""
    code = ("own_code", "Use an e-mailed code", reverse("accounts:own_code"))
    passkey = (
        "mfa_reauthenticate:webauthn", "Use a passkey", reverse("mfa_reauthenticate_webauthn"),
    )  # fmt: skip
    ways = [passkey, code] if has_passkey(user) else [code]
    return [dict(zip(("id", "description", "url"), way, strict=True)) for way in ways]


def _mailed_key(email: str) -> str:
    """Stands for an address in the cache, which does not hold it."""
    return "stranger-mailed:" + hashlib.sha256(email.strip().lower().encode()).hexdigest()


class MFAAdapter(DefaultMFAAdapter):
    """Secrets of authenticator apps are stored encrypted with a key made from SECRET_KEY."""

    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": "Wrong code, or it has just changed. Try the newest one.",
    }

    def is_mfa_enabled(self, user, types=None):
        """A contact's passkey stands in the place of the e-mailed code, never behind it.

        Who has lost the phone with it signs in with a code, and removes it.
        """
        return user.is_applicator and super().is_mfa_enabled(user, types)

    def generate_authenticator_name(self, user, type):
        count = Authenticator.objects.filter(user=user, type=type).count()
        return f"Passkey {count + 1}"

    def _cipher(self):
        keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
        derived = (hashlib.sha256(b"second factor" + force_bytes(key)).digest() for key in keys)
        return MultiFernet([Fernet(base64.urlsafe_b64encode(key)) for key in derived])

    def encrypt(self, text):
        return self._cipher().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text):
        return self._cipher().decrypt(encrypted_text.encode()).decode()

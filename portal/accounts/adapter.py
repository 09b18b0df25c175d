"""How django-allauth is fitted to this portal: closed doors, our words, encrypted secrets."""

import base64
import hashlib
import logging
from smtplib import SMTPException

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, MultiFernet
from django.conf import settings
from django.contrib import messages
from django.urls import reverse
from django.utils.encoding import force_bytes

from readiness.models import Business

log = logging.getLogger(__name__)

NO_MAIL = "our mail server does not answer. Try again in a few minutes."


class AccountAdapter(DefaultAccountAdapter):
    """Nobody signs up by themselves; a contact who was switched off is kept out."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "email_password_mismatch": "That e-mail address or password is wrong.",
        "too_many_login_attempts": "Too many tries. Wait five minutes, then try again.",
        "incorrect_code": "Wrong code. Check it, or ask for a new one.",
        "rate_limited": "Too many tries. Wait a few minutes, then try again.",
    }

    def is_open_for_signup(self, request):
        return False

    def pre_login(self, request, user, **kwargs):
        if not user.is_applicator and user.contact is None:
            return self.respond_user_inactive(request, user)
        return super().pre_login(request, user, **kwargs)

    def get_reauthentication_methods(self, user):
        """The ways to prove that it is still you, a passkey by the name it has elsewhere."""
        methods = super().get_reauthentication_methods(user)
        for method in methods:
            if method["url"] == reverse("mfa_reauthenticate_webauthn"):
                method["description"] = "Use a passkey"
        return methods

    def get_password_change_redirect_url(self, request):
        return reverse("accounts:profile")

    def send_mail(self, template_prefix, email, context):
        extra = {"business": Business.current(), "site_url": settings.SITE_URL}
        try:
            super().send_mail(template_prefix, email, {**context, **extra})
        except (OSError, SMTPException):
            log.exception("%s could not be e-mailed", template_prefix)
            messages.error(self.request, NO_MAIL)


class MFAAdapter(DefaultMFAAdapter):
    """Secrets of authenticator apps are stored encrypted with a key made from SECRET_KEY."""

    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": "Wrong code, or it has just changed. Try the newest one.",
    }

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

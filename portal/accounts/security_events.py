"""What happens at sign-in, for the security log: heard from the libraries' signals."""

from __future__ import annotations

from allauth.account import signals as account
from allauth.mfa import signals as mfa
from django.contrib.auth import signals as auth
from django.dispatch import receiver

from readiness.models import SecurityKind, User
from readiness.operations.allauth_inside import methods_used
from readiness.security import note_anyway


@receiver(auth.user_logged_in, dispatch_uid="security_signed_in")
def signed_in(sender, request, user, **kwargs):
    note_anyway(SecurityKind.SIGNED_IN, user, methods=methods_used(request, user))


@receiver(auth.user_logged_out, dispatch_uid="security_signed_out")
def signed_out(sender, request, user, **kwargs):
    if user is not None:
        note_anyway(SecurityKind.SIGNED_OUT, user)


@receiver(auth.user_login_failed, dispatch_uid="security_failed")
def wrong_password(sender, credentials, **kwargs):
    note_by_email(
        SecurityKind.SIGN_IN_FAILED, str(credentials.get("email") or ""), methods=["password"]
    )


@receiver(account.login_code_rejected, dispatch_uid="security_wrong_code")
def wrong_code(sender, request, user, **kwargs):
    note_anyway(SecurityKind.SIGN_IN_FAILED, user, methods=["code"])


@receiver(mfa.authentication_failed, dispatch_uid="security_wrong_factor")
def wrong_factor(sender, request, user, authenticator, **kwargs):
    note_anyway(SecurityKind.SIGN_IN_FAILED, user, methods=[str(authenticator.type)])


@receiver(account.password_set, dispatch_uid="security_password_set")
@receiver(account.password_changed, dispatch_uid="security_password_changed")
@receiver(account.password_reset, dispatch_uid="security_password_reset")
def password_changed(sender, request, user, **kwargs):
    note_anyway(SecurityKind.PASSWORD_CHANGED, user)


@receiver(mfa.authenticator_added, dispatch_uid="security_factor_added")
def factor_added(sender, request, user, authenticator, **kwargs):
    note_anyway(SecurityKind.FACTOR_ADDED, user, methods=[str(authenticator.type)])


@receiver(mfa.authenticator_removed, dispatch_uid="security_factor_removed")
def factor_removed(sender, request, user, authenticator, **kwargs):
    note_anyway(SecurityKind.FACTOR_REMOVED, user, methods=[str(authenticator.type)])


@receiver(mfa.authenticator_reset, dispatch_uid="security_codes_renewed")
def codes_renewed(sender, request, user, authenticator, **kwargs):
    note_anyway(SecurityKind.CODES_RENEWED, user)


def note_by_email(kind: SecurityKind, email: str, **details) -> None:
    """About the account that has an address; the address itself only where none has it."""
    email = email.strip().lower()
    user = User.objects.filter(email=email).first()
    typed = "" if user or "@" not in email else email  # what has none may be a password
    note_anyway(kind, user, email=typed, **details)

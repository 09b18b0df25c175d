"""allauth's sign-in forms, with each way in kept for the people that it is meant for.

Builder contacts sign in by an e-mailed code; the applicator's staff by password or passkey, with
a second factor. A form that is used by the wrong kind of person answers exactly as it does to an
unknown address, so that it never tells whether an account exists.
"""

from allauth.account import forms as account
from allauth.account.adapter import get_adapter
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from django import forms
from django.utils.translation import gettext_lazy as _

from portal.requests.few import Few
from portal.requests.json_body import UNREADABLE, UnreadableBody, object_from
from readiness.models import SecurityKind
from readiness.operations.allauth_inside import keep_people, keep_person, was_verified
from readiness.security import note_anyway


class PlainWords:
    """Gives a form's fields our labels, and no words inside the boxes that typing would hide."""

    words: dict[str, str] = {}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.widget.attrs.pop("placeholder", None)
            if name in self.words:
                field.label = self.words[name]


class PasswordSignInForm(PlainWords, account.LoginForm):
    """E-mail address and password, for the applicator's staff."""

    words = {"login": "E-mail address", "password": "Password"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["password"].help_text = ""
        self.fields["login"].widget.attrs.pop("autofocus", None)


class CodeSignInForm(PlainWords, account.RequestLoginCodeForm):
    """The address that a one-time code goes to, for builder contacts."""

    words = {"email": "Your e-mail address"}

    def clean_email(self):
        try:
            email = super().clean_email()
        except forms.ValidationError as error:
            if error.code != "too_many_login_attempts":
                raise
            raise get_adapter().validation_error("too_many_codes") from error
        keep_person(self, lambda user: user.is_contact)
        return email


class CodeForm(PlainWords, account.ConfirmLoginCodeForm):
    """The one-time code."""

    words = {"code": "Code"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["code"].widget.attrs.update({"class": "code-input", "inputmode": "numeric"})


class ResetPasswordForm(PlainWords, account.ResetPasswordForm):
    """The address that a link for a new password goes to, for the applicator's staff."""

    words = {"email": "Your e-mail address"}

    def clean_email(self):
        email = super().clean_email()
        keep_people(self, lambda user: user.is_applicator)
        return email


NEW_PASSWORD = {"password1": "New password", "password2": "New password again"}


class ResetPasswordKeyForm(PlainWords, account.ResetPasswordKeyForm):
    """A new password after following the link."""

    words = NEW_PASSWORD


class ChangePasswordForm(PlainWords, account.ChangePasswordForm):
    """A new password, proved with the old one."""

    words = {"oldpassword": "Current password", **NEW_PASSWORD}


class SetPasswordForm(PlainWords, account.SetPasswordForm):
    """A first password."""

    words = NEW_PASSWORD


class ReauthenticateForm(PlainWords, account.ReauthenticateForm):
    """The password once more."""

    words = {"password": "Your password"}


class SecondFactorForm(PlainWords, AuthenticateForm):
    """The code of an authenticator app, or a recovery code."""

    words = {"code": "Code"}


class SetUpAppForm(PlainWords, ActivateTOTPForm):
    """The first code of a newly set up authenticator app."""

    words = {"code": "Six-digit code"}


class KeyAnswerField(forms.JSONField):
    """What a browser says for a passkey: a small JSON object, whoever else sends it."""

    def __init__(self):
        super().__init__(required=True, widget=forms.HiddenInput)

    def to_python(self, value):
        if value in self.empty_values:
            return None
        try:
            return object_from(value)
        except UnreadableBody as error:
            raise forms.ValidationError(str(error)) from error

    def bound_data(self, data, initial):
        """An answer counts once: the page that comes back holds none."""
        return None

    def prepare_value(self, value):
        return ""


# What reading an answer of the wrong shape may raise, down in the libraries.
_WRONG_SHAPE = (KeyError, AttributeError, TypeError, ValueError)


NOT_VERIFIED = _("Unlock your device with fingerprint, face or PIN, then try again.")


_few_failures = Few(30)


class KeyAnswer(forms.Form):
    """An answer of the wrong shape is refused like a wrong one."""

    credential = KeyAnswerField()

    def clean_credential(self):
        try:
            return super().clean_credential()  # type: ignore[misc]  # of the form it is mixed into
        except _WRONG_SHAPE as error:
            raise forms.ValidationError(UNREADABLE) from error
        except forms.ValidationError:
            if _few_failures.has_room("passkey"):  # tries that name nobody have no other limit
                user = getattr(self, "user", None)
                note_anyway(SecurityKind.SIGN_IN_FAILED, user, methods=["webauthn"])
            raise


class PasskeySignInForm(KeyAnswer, LoginWebAuthnForm):
    """Signing in with a passkey alone."""


class PasskeySecondFactorForm(KeyAnswer, AuthenticateWebAuthnForm):
    """A passkey as the second factor."""


class PasskeyAgainForm(KeyAnswer, ReauthenticateWebAuthnForm):
    """A passkey before something that matters.

    What a contact shows with it is who they are: the device has to have asked them.
    """

    def clean_credential(self):
        answer = self.cleaned_data["credential"]
        found = super().clean_credential()
        if not self.user.is_applicator and not was_verified(answer):
            raise forms.ValidationError(NOT_VERIFIED)
        return found


class AddPasskeyForm(PlainWords, AddWebAuthnForm):
    """A new passkey's name."""

    words = {"name": "Name", "passwordless": "Use it without a password"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["credential"] = KeyAnswerField()
        field = self.fields["passwordless"]
        field.initial = True
        field.help_text = "The device asks for your fingerprint, face or PIN each time."

    def clean_passwordless(self):
        """A contact has no password: their passkey always is all that they sign in with."""
        return self.cleaned_data["passwordless"] or not self.user.is_applicator

    def clean(self):
        try:
            return super().clean()
        except _WRONG_SHAPE as error:
            raise forms.ValidationError(UNREADABLE) from error

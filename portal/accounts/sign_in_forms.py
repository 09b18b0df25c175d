"""allauth's sign-in forms, with each way in kept for the people that it is meant for.

Builder contacts sign in by an e-mailed code; the applicator's staff by password or passkey, with
a second factor. A form that is used by the wrong kind of person answers exactly as it does to an
unknown address, so that it never tells whether an account exists.
"""

from allauth.account.forms import LoginForm, RequestLoginCodeForm, ResetPasswordForm


class PasswordSignInForm(LoginForm):
    """E-mail address and password, for the applicator's staff."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail address"
        for field in self.fields.values():
            field.widget.attrs.pop("placeholder", None)


class CodeSignInForm(RequestLoginCodeForm):
    """The address that a one-time code goes to, for builder contacts."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        field = self.fields["email"]
        field.label = "Your e-mail address"
        field.widget.attrs.pop("placeholder", None)
        field.widget.attrs["autocomplete"] = "email"

    def clean_email(self):
        email = super().clean_email()
        user = self._user
        if user is not None and (user.is_applicator or user.contact is None):
            self._user = None
        return email


class NewPasswordForm(ResetPasswordForm):
    """The address that a link for a new password goes to, for the applicator's staff."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "Your e-mail address"
        self.fields["email"].widget.attrs.pop("placeholder", None)

    def clean_email(self):
        email = super().clean_email()
        self.users = [user for user in self.users if user.is_applicator]
        return email

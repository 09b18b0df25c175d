"""Passkeys on one's own account. Staff use one as their second factor, contacts in place of a code.

allauth asks people again who have a password or a second factor. Contacts have neither, so that is
done here.
"""

from allauth.mfa.webauthn.views import AddWebAuthnView, EditWebAuthnView, RemoveWebAuthnView
from django.shortcuts import redirect
from django.views import View

from portal.accounts.proof import is_shown_just_now, own_code_for
from readiness.operations.allauth_inside import add_passkey


def is_staff(user) -> bool:
    """Whether the rules of the applicator's staff hold for them."""
    return user.is_applicator


class ShownFirst(View):
    """A contact has shown in the last minutes, by code or passkey, that it is them."""

    def dispatch(self, request, *args, **kwargs):
        user = request.user
        if user.is_authenticated and not is_staff(user) and not is_shown_just_now(request):
            return redirect(own_code_for(request.path))
        return super().dispatch(request, *args, **kwargs)


class Add(ShownFirst, AddWebAuthnView):
    """Adding a passkey. A contact's needs no recovery codes: an e-mailed code signs them in too."""

    def form_valid(self, form):
        if is_staff(self.request.user):
            return super().form_valid(form)
        add_passkey(self.request, form.cleaned_data["name"], form.cleaned_data["credential"])
        return redirect("mfa_list_webauthn")


class Rename(ShownFirst, EditWebAuthnView):
    """Giving a passkey another name."""


class Remove(ShownFirst, RemoveWebAuthnView):
    """Removing a passkey."""

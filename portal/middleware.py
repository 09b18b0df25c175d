"""The second factor: asked of the applicator's staff, and not a matter for builder contacts."""

from allauth.mfa.models import Authenticator
from allauth.mfa.utils import is_mfa_enabled
from django.conf import settings
from django.http import Http404
from django.shortcuts import redirect

SECOND_FACTORS = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]
ALWAYS_OPEN = {"account_logout", "account_reauthenticate", "cautions"}
STAFF_ONLY = {"account_change_password", "account_set_password", "account_reauthenticate"}


class SecondFactorMiddleware:
    """Leads staff who have no second factor yet to set one up before anything else."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        user = request.user
        if not user.is_authenticated:
            return None
        name = request.resolver_match.view_name or ""
        about_factors = name.startswith("mfa_")
        if not user.is_applicator:
            if about_factors or name in STAFF_ONLY:
                raise Http404
            return None
        if not settings.READINESS_REQUIRE_SECOND_FACTOR or about_factors or name in ALWAYS_OPEN:
            return None
        if is_mfa_enabled(user, SECOND_FACTORS):
            return None
        return redirect("mfa_index")

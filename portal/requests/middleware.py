"""What holds for every page: the second factor, and answers where Django has none that serve.

The second factor is asked of the applicator's staff. Builder contacts may have a passkey in the
place of the e-mailed code.
"""

from urllib.parse import urlsplit

from django.conf import settings
from django.http import Http404, HttpResponse, JsonResponse, UnreadablePostError
from django.shortcuts import redirect, render, resolve_url

from readiness.operations.allauth_inside import has_second_factor

ALWAYS_OPEN = {"account_logout", "account_reauthenticate", "cautions"}
PASSKEYS = {
    "mfa_list_webauthn",
    "mfa_add_webauthn",
    "mfa_edit_webauthn",
    "mfa_remove_webauthn",
    "mfa_reauthenticate_webauthn",
}
"""Of what is about second factors, what contacts have too (`portal/accounts/passkeys.py`)."""
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
            if (about_factors and name not in PASSKEYS) or name in STAFF_ONLY:
                raise Http404
            return None
        if not settings.READINESS_REQUIRE_SECOND_FACTOR or about_factors or name in ALWAYS_OPEN:
            return None
        if has_second_factor(user):
            return None
        return redirect("mfa_index")


class ButtonAddressMiddleware:
    """Says in words that an address only takes what a button sends; Django's answer is empty.

    Whoever signs in again after pressing a button comes to its address by GET, and so does a phone
    that loads an old tab again.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        if response.status_code != 405 or request.method != "GET":
            return response
        page = render(request, "405.html", status=405)
        page["Allow"] = response["Allow"]
        return page


class CutOffMiddleware:
    """A body that never arrived in full is no fault of ours: nobody is there to hear of it."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_exception(self, request, exception):
        if isinstance(exception, UnreadablePostError):
            return render(request, "400.html", status=400)
        return None


class AnswerToScriptsMiddleware:
    """Tells a script where to go on to, instead of leading it there; and that it is signed out.

    A script that is led on cannot tell an answer from a sign-in page, and what the next page was
    to say would be used up. Sending forms (`sending.js`) ask with `X-Answer: address` and get
    `{"go": address, "signed_out": bool}`. Parts of a page (htmx) get 401 for the sign-in page.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        wants_address = request.headers.get("X-Answer") == "address"
        if not (wants_address or request.htmx):
            return self.get_response(request)
        was_signed_in = request.user.is_authenticated
        response = self.get_response(request)
        address = response.get("Location", "")
        if response.status_code not in (301, 302, 303) or not address:
            return response
        sign_in = resolve_url(settings.LOGIN_URL)
        signed_out = not was_signed_in and urlsplit(address).path == sign_in
        if wants_address:
            return JsonResponse({"go": address, "signed_out": signed_out})
        if signed_out:
            return HttpResponse(status=401, headers={"X-Sign-In": sign_in})
        return response

"""What the pages about signing in need beside django-allauth.

No browser keeps them (a page with a recovery code is seen again with its Back button), whoever
proves again who they are gets a new session id, and leaving clears what the browser kept of pages.
"""

from __future__ import annotations

from allauth.usersessions.models import UserSession
from django.utils.cache import add_never_cache_headers

from readiness.models import SecurityKind
from readiness.security import note_anyway

PROVING_AGAIN = {
    "account_reauthenticate",
    "mfa_reauthenticate",
    "mfa_reauthenticate_webauthn",
}
LEAVING = {"account_logout", "usersessions_list"}
SECRET = ("mfa_", "account_")
"""Names of views start so: setting up a second factor, recovery codes, links for passwords."""


class SignInPagesMiddleware:
    """Stands inside the middleware that notes sessions, so that it notes the new id."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        match = request.resolver_match
        name = match.view_name if match else ""
        if name.startswith(SECRET):
            add_never_cache_headers(response)
        if request.method == "POST":
            if name in PROVING_AGAIN and is_through(request, response):
                with_a_new_id(request)
                note_anyway(SecurityKind.PROVED_AGAIN, request.user)
            if name in LEAVING and not request.user.is_authenticated:
                # Not "storage": what was not sent yet lies there, and belongs to its account.
                response["Clear-Site-Data"] = '"cache"'
        return response


def is_through(request, response) -> bool:
    """Who is led on has proved it; who has not sees the form again."""
    return request.user.is_authenticated and response.status_code in (301, 302, 303)


def with_a_new_id(request) -> None:
    """The same session under another id: one that somebody saw before is worth nothing now."""
    old = request.session.session_key
    request.session.cycle_key()
    UserSession.objects.filter(session_key=old).update(session_key=request.session.session_key)

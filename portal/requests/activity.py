"""When a session was last used: for the list of where a person is signed in, and for its end.

The list says it to the minute at best, so it is written down every few minutes and no oftener: a
page that is only looked at takes no write lock. Pictures, papers and what scripts ask for by
themselves (polls) say nothing about whether somebody is there.
"""

import logging
from datetime import timedelta
from time import monotonic

from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError
from django.utils import timezone

logger = logging.getLogger(__name__)

EVERY_SECONDS = 5 * 60
MOST_REMEMBERED = 10_000


class ActivityMiddleware:
    """Notes the session of a page once it is answered; a failure to note costs nobody the page.

    It takes the place of django-allauth's own, which writes at each request. What this process
    noted is remembered here, so that most requests ask the database nothing about it. With each
    note the session's time starts anew, but for the longest that a session may last.
    """

    def __init__(self, get_response):
        self.get_response = get_response
        self.noted: dict[str, float] = {}

    def __call__(self, request):
        response = self.get_response(request)
        if says_somebody_is_there(request, response) and request.user.is_authenticated:
            self._note(request)
        return response

    def _note(self, request) -> None:
        key, now = request.session.session_key, monotonic()
        if not key or now - self.noted.get(key, -EVERY_SECONDS) < EVERY_SECONDS:
            return
        if len(self.noted) >= MOST_REMEMBERED:
            self.noted.clear()
        self.noted[key] = now  # also if it fails: the next page is not held up again
        try:
            if not _noted_by_another_process(key):
                UserSession.objects.create_from_request(request)
                _run_on(request)
        except (DatabaseError, PermissionDenied):
            logger.warning("When a session was last used could not be noted.", exc_info=True)


def _run_on(request) -> None:
    """Let the session last until nobody has used it for so long, and never past its longest."""
    began = UserSession.objects.get(session_key=request.session.session_key).created_at
    end = began + timedelta(days=settings.READINESS_SESSION_DAYS)
    left = int((end - timezone.now()).total_seconds())
    if left <= 0:  # this page is the last; the next one asks to sign in
        logout(request)
    else:
        request.session.set_expiry(min(idle_seconds(request.user), left))


def idle_seconds(user) -> int:
    """After how long without use a session ends: it runs from each note on."""
    if user.is_applicator:
        return settings.READINESS_STAFF_IDLE_HOURS * 3600
    return settings.READINESS_CONTACT_IDLE_DAYS * 24 * 3600


def says_somebody_is_there(request, response) -> bool:
    """A page that was opened or something that was sent, not a picture and not a script's poll."""
    if request.method not in ("GET", "HEAD"):
        return True
    is_page = response.status_code < 400 and response.get("Content-Type", "").startswith(
        "text/html"
    )
    return is_page and not request.htmx


def _noted_by_another_process(key: str) -> bool:
    since = timezone.now() - timedelta(seconds=EVERY_SECONDS)
    return UserSession.objects.filter(session_key=key, last_seen_at__gt=since).exists()

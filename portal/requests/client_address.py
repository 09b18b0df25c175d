"""From which address a request comes: limits on tries and the security log go by it.

Behind a proxy each request seems to come from the proxy itself, until READINESS_PROXY_COUNT says
how many proxies to trust. Without it everybody shares one limit, and locks the others out.
"""

from __future__ import annotations

import logging
from ipaddress import ip_address
from time import monotonic

from django.conf import settings
from django.db import DatabaseError
from django.http import HttpResponse
from django.template import loader

from portal.loopback import is_loopback
from readiness.models import LastDone
from readiness.operations.upkeep import PROXY_UNSET
from readiness.wording import proxy as say

log = logging.getLogger(__name__)

NOTE_EVERY_SECONDS = 3600

HEALTH = ("/healthz", "/readyz")
"""Asked from beside the portal, without its proxy."""


class ClientAddressMiddleware:
    """Refuses what has no address, or comes from afar to the demo; tells of a proxy not set."""

    def __init__(self, get_response):
        self.get_response = get_response
        self.noted_at: float | None = None

    def __call__(self, request):
        chain = forwarded_for(request)
        if settings.READINESS_DEMO and not from_here(request, chain):
            return refusal(say.demo_elsewhere(), 403)
        if request.path not in HEALTH and (wrong := what_is_wrong(request, chain)):
            log.error(wrong)
            return refusal(wrong, 500)
        if chain and not settings.READINESS_PROXY_COUNT:
            self._note()
        return self.get_response(request)

    def _note(self) -> None:
        """An error in the log once a process; the owner's screen is told every hour."""
        if self.noted_at is not None and monotonic() - self.noted_at < NOTE_EVERY_SECONDS:
            return
        if self.noted_at is None:
            log.error(say.unset())
        self.noted_at = monotonic()
        try:
            LastDone.note(PROXY_UNSET)
        except DatabaseError:
            log.warning("That a proxy is not set could not be noted.", exc_info=True)


def client_address(request) -> str | None:
    """The address of who asks, as far as the settings trust what proxies say; None for none."""
    count, chain = settings.READINESS_PROXY_COUNT, forwarded_for(request)
    said = chain[-count] if count and len(chain) >= count else request.META.get("REMOTE_ADDR", "")
    try:
        return str(ip_address(said.strip("[]")))
    except ValueError:
        return None


def forwarded_for(request) -> list[str]:
    """The addresses that the proxies named, the nearest last."""
    said = request.headers.get("X-Forwarded-For", "")
    return [part.strip() for part in said.split(",") if part.strip()]


def from_here(request, chain: list[str]) -> bool:
    """Whether a request comes from this machine, as far as anybody says."""
    named = filter(None, (request.META.get("REMOTE_ADDR"), *chain))
    return all(map(is_loopback, named))


def what_is_wrong(request, chain: list[str]) -> str:
    """Why nobody can tell from where a request comes; "" where somebody can."""
    count = settings.READINESS_PROXY_COUNT
    if count and chain and len(chain) < count:
        return say.too_few(count, len(chain))
    if not request.META.get("REMOTE_ADDR") and not (count and chain):
        return say.no_address()
    return ""


def refusal(words: str, status: int) -> HttpResponse:
    """The words on a page that needs no session and no database."""
    page = loader.get_template("refused.html").render({"words": words})
    answer = HttpResponse(page, status=status)
    answer._has_been_logged = True  # type: ignore[attr-defined]  # as Django's own log_response
    return answer

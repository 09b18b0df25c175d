"""From where a request comes, for the security log; and what is refused, as an event of its own."""

from __future__ import annotations

from portal.requests.client_address import client_address
from portal.requests.devices import device_name
from portal.requests.few import Few
from portal.requests.told_path import told_path
from readiness import security
from readiness.models import SecurityKind

MOST_A_MINUTE = 30
"""Refusals that one address gets noted by a process: a flood of them fills no disk."""


class SecurityLogMiddleware:
    """Outside all that signs in and refuses."""

    def __init__(self, get_response):
        self.get_response = get_response
        self.few = Few(MOST_A_MINUTE)

    def __call__(self, request):
        address = client_address(request)
        device = device_name(request.headers.get("User-Agent", ""))
        with security.asked_from(address, device):
            response = self.get_response(request)
            if response.status_code in (403, 429) and self.few.has_room(address or ""):
                note_refusal(request, response.status_code)
        return response


def note_refusal(request, status: int) -> None:
    """403 is a refusal, 429 too many tries."""
    kind = SecurityKind.TOO_MANY if status == 429 else SecurityKind.REFUSED
    user = getattr(request, "user", None)
    account = user if user is not None and user.is_authenticated else None
    security.note_anyway(kind, account, path=told_path(request), method=request.method)

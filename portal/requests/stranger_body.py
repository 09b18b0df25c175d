"""What somebody who is not signed in may send: a few fields, never a file.

Asked before anything reads the body (the check of the form's token does), so that nothing of it
reaches the disk.
"""

from __future__ import annotations

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.shortcuts import render

MOST_BYTES = 256 * 1024
"""The answer of a passkey is the longest: a few thousand bytes."""


class StrangerBodyMiddleware:
    """Leads a stranger with a large body to sign in, and refuses it where that is not needed.

    Stands before the check of the token. A person who was signed out meanwhile is told so.
    """

    def __init__(self, get_response):
        self.get_response = get_response
        self.gate = LoginRequiredMiddleware(get_response)

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        if announced_bytes(request) <= MOST_BYTES or request.user.is_authenticated:
            return None
        answer = self.gate.process_view(request, view, args, kwargs)
        return answer or render(request, "413.html", status=413)


def announced_bytes(request) -> int:
    """How long the body is said to be; the server reads no more than that."""
    length = request.META.get("CONTENT_LENGTH") or ""
    return int(length) if length.isdecimal() else 0

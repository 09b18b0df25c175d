"""Answers for what is nobody's fault and passes: 503 with Retry-After, and 507 for a full disk.

A page says in words what to do; a script gets the same words as JSON and sends again by itself.
Such an answer is written to the log, but nobody is e-mailed about each page of an outage.
"""

import logging
import sqlite3
from dataclasses import dataclass

from django.db import InterfaceError, OperationalError
from django.http import HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.template import loader

from readiness import disk
from readiness.photos.limits import DISK_FULL, PASSING
from readiness.photos.refused import PhotoRefused
from readiness.photos.store import StoreError, StoreUnreachable

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Trouble:
    """A status, the words for people, and after how many seconds to try again."""

    status: int
    title: str
    words: str
    retry_seconds: int


DATABASE = Trouble(
    503, "Not available just now", "The portal can't reach its records at the moment.", 10
)
STORE = Trouble(
    503, "Files not reachable just now", "The store of photos and papers does not answer.", 15
)
FULL = Trouble(507, "The portal's disk is full", "It can't save anything new for now.", 300)

# Primary result codes of SQLite (its page "Result and Error Codes") that pass by themselves: busy,
# locked, input or output failed, can't open, locking protocol.
SQLITE_PASSING = {5, 6, 10, 14, 15}


def of(error: BaseException | None) -> Trouble | None:
    """The trouble behind an error, or None when it is a fault of the program."""
    if error is None:
        return None
    if disk.is_full(error):
        return FULL
    if isinstance(error, StoreError | StoreUnreachable):
        return STORE
    if isinstance(error, OperationalError | InterfaceError) and _passes(error):
        return DATABASE
    return None


def _passes(error: Exception) -> bool:
    """SQLite calls a missing table an operational error too, and that does not pass."""
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        return getattr(cause, "sqlite_errorcode", 0) & 0xFF in SQLITE_PASSING
    return True


def answer(request, trouble: Trouble, error: BaseException | None = None) -> HttpResponseBase:
    """The page of a trouble, or its words as JSON; needs no database and no session."""
    log.warning("%s at %s: %s", trouble.title, request.path, error, exc_info=error)
    if wants_json(request):
        return _passing(JsonResponse({"error": f"{trouble.title}. {trouble.words}"}), trouble)
    again = request.get_full_path() if request.method in ("GET", "HEAD") else ""
    page = loader.get_template("trouble.html").render({"trouble": trouble, "again": again})
    return _passing(HttpResponse(page), trouble)


def wants_json(request) -> bool:
    """Is it a script that asks, not a browser that will show what comes?"""
    accepted = request.headers.get("Accept", "")
    return bool(request.headers.get("X-Answer")) or accepted.startswith("application/json")


def _passing(response: HttpResponse, trouble: Trouble) -> HttpResponse:
    response.status_code = trouble.status
    response["Retry-After"] = str(trouble.retry_seconds)
    response["Cache-Control"] = "no-store"
    response._has_been_logged = True  # type: ignore[attr-defined]  # as Django's own log_response
    return response


def refused(refusal: PhotoRefused) -> JsonResponse:
    """The answer to a script whose photo was not taken in."""
    response = JsonResponse({"error": refusal.message}, status=400)
    if refusal.problem in PASSING:
        _passing(response, STORE)
    elif refusal.problem == DISK_FULL:
        _passing(response, FULL)
    return response

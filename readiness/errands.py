"""Claiming what is due, and when a thing that failed is tried again.

A try is: claim (one UPDATE, committed), do it with nothing locked, write down how it went. Writing
down holds only while the claim does, so that a worker that was taken for dead changes nothing.
"""

import os
import secrets
import socket
from datetime import datetime, timedelta
from typing import TypeVar

from django.db import Error as DatabaseError
from django.db import transaction
from django.db.models import F

from readiness import clock
from readiness.models import Message, Paper, Timestamp
from readiness.models.errand import Errand, ErrandQuerySet

PAUSES = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=6),
    timedelta(hours=24),
)
"""After each try that failed for a passing reason: long enough for a weekend without a server."""

FAULT_PAUSES = PAUSES[:3]
"""After a fault of the portal itself, which waiting rarely mends."""

OUTAGES = (OSError, DatabaseError)
"""What passes by itself: a store, a network, a database. The rest is a fault of the portal."""

CUT_OFF = "the portal stopped during a try."

Row = TypeVar("Row", bound=Errand)

ERRANDS: tuple[type[Errand], ...] = (Message, Paper, Timestamp)


class ClaimLost(Exception):
    """Another worker has the thing now: this one took so long that it was taken for stopped."""


_worker: tuple[int, str] = (0, "")


def this_worker() -> str:
    """The name of this process as claims carry it; no other process ever has the same."""
    global _worker
    if _worker[0] != os.getpid():
        host = socket.gethostname()[:40]
        _worker = (os.getpid(), f"{host}/{os.getpid()}-{secrets.token_hex(4)}")
    return _worker[1]


def claim(model: type[Row], pk, **changes) -> Row | None:
    """The row, now this worker's own; None when it is not due or somebody else has it.

    Commits before it returns: call it outside transactions. Raises RuntimeError inside one.
    """
    now = clock.now()
    with transaction.atomic(durable=True):
        taken = (
            model.objects.due(now)
            .filter(pk=pk)
            .update(
                state=model.CLAIMED,
                claimed_by=this_worker(),
                attempts=F("attempts") + 1,
                started_at=now,
                next_try_at=None,
                error="",
                **changes,
            )
        )
    return model.objects.get(pk=pk) if taken else None


def held(row: Errand) -> ErrandQuerySet:
    """The row, while this claim of it holds: every change that ends a try goes through here."""
    return (
        type(row)
        .objects.under_way()
        .filter(pk=row.pk, claimed_by=row.claimed_by, attempts=row.attempts)
    )


def again(row: Errand, error: str, pauses=PAUSES, **changes) -> bool:
    """End a try that failed: the next one is after a pause, or there is none after the last.

    Returns False when the claim was lost meanwhile, and nothing was changed.
    """
    when = next_try(row.attempts, pauses)
    if when is None:
        return give_up(row, error, **changes)
    changes |= {"state": row.READY, "next_try_at": when, "claimed_by": "", "error": error}
    return bool(held(row).update(**changes))


def give_up(row: Errand, error: str, **changes) -> bool:
    """End a try after which there is no other until a person asks for it."""
    changes |= {"state": row.GIVEN_UP, "given_up_at": clock.now(), "claimed_by": "", "error": error}
    return bool(held(row).update(**changes))


def drop(row: Message, reason: str) -> bool:
    """End a try of what turned out not to be needed any more."""
    state = Message.State.DROPPED
    return bool(held(row).update(state=state, claimed_by="", error=reason))


def next_try(attempts: int, pauses=PAUSES) -> datetime | None:
    """When it is tried again after so many tries; None when that was the last."""
    return clock.now() + pauses[attempts - 1] if attempts <= len(pauses) else None


def passes(error: Exception) -> bool:
    """Whether what went wrong passes by itself; an error may say so with `passing`."""
    return getattr(error, "passing", isinstance(error, OUTAGES))


def pauses_after(error: Exception) -> tuple[timedelta, ...]:
    """The pauses between tries after this error."""
    return PAUSES if passes(error) else FAULT_PAUSES


def release(workers: set[str]) -> int:
    """Let go of what these workers had claimed when they stopped; returns how many things.

    Each is tried again at once, but what stops its worker time and again is put off like any other.
    """
    released = 0
    for model in ERRANDS:
        for row in model.objects.under_way().filter(claimed_by__in=workers):
            released += _release(row)
    return released


def _release(row: Errand) -> bool:
    changes: dict = {"progress": ""} if isinstance(row, Paper) else {}
    if isinstance(row, Message) and row.handed_over_at:
        changes["unsure"] = F("unsure") + 1
    if row.attempts > 2:
        return again(row, CUT_OFF, **changes)
    changes |= {"next_try_at": clock.now(), "claimed_by": "", "error": CUT_OFF}
    return bool(held(row).update(state=row.READY, **changes))

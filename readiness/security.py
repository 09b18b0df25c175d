"""Adding to the security log: a row in the database, and the same as a line of JSON on stdout.

From where somebody asks is known to the request alone: it says so with `asked_from`.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.db import DatabaseError, transaction

from readiness import clock
from readiness.models import SecurityEvent, SecurityKind, User

log = logging.getLogger("readiness.security")
trouble = logging.getLogger(__name__)


@dataclass(frozen=True)
class Asker:
    """From which address, with what device as a person would call it."""

    address: str | None = None
    device: str = ""


_asker: ContextVar[Asker | None] = ContextVar("asker", default=None)


@contextmanager
def asked_from(address: str | None, device: str) -> Iterator[None]:
    """What is noted inside comes from there."""
    token = _asker.set(Asker(address, device))
    try:
        yield
    finally:
        _asker.reset(token)


def note(
    kind: SecurityKind,
    account: User | None = None,
    *,
    about: User | None = None,
    email: str = "",
    **details: object,
) -> SecurityEvent:
    """Add one event, in the transaction of what it tells of.

    `details` are plain JSON values: codes, numbers and ids; no secret and no address of a person.
    `email` is what somebody typed that no account has.
    """
    asker = _asker.get() or Asker()
    event = SecurityEvent.objects.create(
        at=clock.now(),
        kind=kind,
        account=account.pk if account else None,
        about=about.pk if about else None,
        email=email[:254],
        address=asker.address,
        device=asker.device[:60],
        details=details,
    )
    transaction.on_commit(lambda: log.info(line_of(event)))
    return event


def note_anyway(kind: SecurityKind, account: User | None = None, **more) -> None:
    """The same where what it tells of stands, whether or not it can be noted."""
    try:
        with transaction.atomic():
            note(kind, account, **more)
    except DatabaseError:
        trouble.warning("Not noted in the security log: %s", kind, exc_info=True)


def line_of(event: SecurityEvent) -> str:
    """The event as one line of JSON, without what is not known."""
    known = {
        "at": event.at.isoformat(timespec="milliseconds"),
        "event": str(event.kind),
        "account": str(event.account or ""),
        "about": str(event.about or ""),
        "email": event.email,
        "address": event.address,
        "device": event.device,
        **event.details,
    }
    return json.dumps({name: value for name, value in known.items() if value not in ("", None)})

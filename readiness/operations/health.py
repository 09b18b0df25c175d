"""Whether the portal can do its work: each part looked at by itself, in words without secrets.

`/readyz` reads from here, and `upkeep`, which tells the office.
"""

from __future__ import annotations

import logging
import shutil
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.core.files.storage import FileSystemStorage, storages
from django.db import Error as DatabaseError
from django.db import connection

from readiness import clock
from readiness.models import LastDone
from readiness.operations import watch

log = logging.getLogger(__name__)

WORKER_IS_LATE_AFTER = timedelta(minutes=3)
"""A worker says every half minute that it is there."""
STORE_SECONDS = 3
FULL_DISK_BYTES = 16 * 1024**2
LITTLE_DISK_BYTES = 2 * 1024**3
"""Below this a day of photos may no longer fit: about 400 of them, with their sizes."""


@dataclass(frozen=True)
class Check:
    """One part of the portal: whether it works, and a sentence that names no host and no secret."""

    name: str
    ok: bool
    words: str


def readiness() -> list[Check]:
    """The parts without which nobody is served: database, store of photos and papers, worker.

    A part that can't be looked at because the database is gone is not ready either.
    """
    return [_looked_at(name, look) for name, look in _PARTS.items()]


def database() -> Check:
    """Whether the database answers now."""
    return _looked_at("database", _database)


def _looked_at(name: str, look: Callable[[], str]) -> Check:
    try:
        words = look()
    except (OSError, DatabaseError) as error:
        log.warning("Not ready, %s: %s", name, error)
        return Check(name, False, "does not answer")
    return Check(name, not words, words or "ok")


def _database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return ""


def _store() -> str:
    """Both stores answer soon; a folder can be written and has room."""
    asked = _asker.submit(_ask_the_stores)
    try:
        asked.result(timeout=STORE_SECONDS)
    except TimeoutError:
        asked.cancel()  # a question behind one that hangs is not asked any more
        raise
    return "" if disk().free_bytes > FULL_DISK_BYTES else "the disk is full"


def _ask_the_stores() -> None:
    for alias in ("photos", "papers"):
        storage = storages[alias]
        if isinstance(storage, FileSystemStorage):
            Path(storage.location).mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=storage.location) as file:
                file.write(b"ok")
        else:
            storage.exists("is-it-there")


_asker = ThreadPoolExecutor(1, thread_name_prefix="store-check")
"""A store that hangs holds this thread, and never a request for longer than STORE_SECONDS."""


def _worker() -> str:
    seen = worker_seen_at()
    if seen is None:
        return "no background worker is running"
    if clock.now() - seen > WORKER_IS_LATE_AFTER:
        return "the background worker has stopped"
    return ""


_PARTS: dict[str, Callable[[], str]] = {
    "database": _database,
    "store": _store,
    "worker": _worker,
}


def workers() -> list[LastDone]:
    """The heartbeats of the background workers, the latest first."""
    return list(LastDone.objects.filter(name__startswith=watch.PREFIX).order_by("-at"))


def worker_seen_at() -> datetime | None:
    """When any background worker last said that it is there."""
    found = workers()
    return found[0].at if found else None


@dataclass(frozen=True)
class Disk:
    """The file system of READINESS_DATA."""

    free_bytes: int
    total_bytes: int

    @property
    def is_low(self) -> bool:
        return self.free_bytes < LITTLE_DISK_BYTES


def disk() -> Disk:
    """Raises OSError when the folder can't be reached."""
    usage = shutil.disk_usage(Path(settings.READINESS_DATA))
    return Disk(usage.free, usage.total)

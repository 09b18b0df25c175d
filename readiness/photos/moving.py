"""Taking what waits on this machine to the object store, once that answers again.

Each step may be cut off: the object is written first and read back, then the row says no longer
that it waits, then the file here goes. What was cut off in between is found and finished next time.
"""

import hashlib
import logging
import math
import time
from dataclasses import dataclass

from readiness.models import Original, SpooledOriginal
from readiness.patience import Patience, patience
from readiness.photos import spool, store

log = logging.getLogger(__name__)

SILENT_SECONDS = 120
AT_A_TIME_SECONDS = 60
"""So long a worker moves files before it does something else: e-mails must not wait for hours."""
NO_ROW_SECONDS = 24 * 3600
"""A file without a row may belong to a form that is still being sent, for so long."""


@dataclass
class Moved:
    """How many files were moved, how many stay here, and whether the store was silent."""

    moved: int = 0
    left: int = 0
    is_silent: bool = False


class NotTheSameError(Exception):
    """Bytes that are not those of their name: damaged here, or on the way."""


_not_before = 0.0


def move_when_due() -> Moved:
    """As `move_waiting`, from a loop: a store that stays silent is asked every few minutes only."""
    global _not_before
    if time.monotonic() < _not_before:
        return Moved()
    done = move_waiting(AT_A_TIME_SECONDS)
    if done.is_silent:
        _not_before = time.monotonic() + SILENT_SECONDS
    return done


def move_waiting(seconds: float = math.inf) -> Moved:
    """Move what this machine keeps for the store; does nothing while another process does it.

    After so many seconds the rest is left for the next time.
    """
    done = Moved()
    if not is_there_work():
        return done
    with spool.alone() as is_alone, patience(Patience.WORKER):
        if is_alone:
            spool.sweep_half_written(NO_ROW_SECONDS)
            _move_files(done, time.monotonic() + seconds)
            _settle_rows()
    return done


def is_there_work() -> bool:
    """Does this machine keep anything for the store, or does a row say so? Cheap to ask."""
    return (
        next(spool.names(), None) is not None
        or SpooledOriginal.objects.filter(machine=spool.machine()).exists()
    )


def _move_files(done: Moved, until: float) -> None:
    for name in list(spool.names()):
        try:
            is_over = done.moved and time.monotonic() >= until
            if is_over or done.is_silent or not _move(name):
                done.left += 1
            else:
                done.moved += 1
        except FileNotFoundError:
            continue  # deleted meanwhile
        except (store.StoreUnreachable, store.StoreError) as error:
            log.warning("The store does not take %s yet: %s", name, error)
            done.left, done.is_silent = done.left + 1, True
        except NotTheSameError as error:
            log.error("%s stays where it is: %s", name, error)
            done.left += 1


def _move(name: str) -> bool:
    """Move one file; False when it has to wait for its row."""
    digest = name.rsplit("/", 1)[-1][:64]
    row = Original.objects.filter(pk=digest).first()
    if row is None or row.is_deleted:
        if row is None and spool.age_seconds(name) < NO_ROW_SECONDS:
            return False
        spool.drop(name)
        return True
    is_original = name == row.storage_name
    if is_original:
        _require(spool.path_of(name).open("rb"), digest, "the file here was changed")
    store.put(spool.path_of(name), name)
    if is_original:
        _require(store.storage().open(name, "rb"), digest, "the store gives other bytes back")
        SpooledOriginal.objects.filter(original=digest).delete()
    if Original.objects.filter(pk=digest, deleted_at=None).exists():
        spool.drop(name)
    else:
        store.delete(name)  # deleted while it was on its way
    return True


def _require(file, digest: str, words: str) -> None:
    with file:
        if hashlib.file_digest(file, "sha256").hexdigest() != digest:
            raise NotTheSameError(words)


def _settle_rows() -> None:
    """Rows whose file was moved already, by a run that was cut off before it said so."""
    for row in SpooledOriginal.objects.filter(machine=spool.machine()).select_related("original"):
        name = row.original.storage_name
        if row.original.is_deleted:
            row.delete()
        elif not spool.holds(name):
            try:
                _require(store.storage().open(name, "rb"), row.original_id, "other bytes there")
            except (OSError, NotTheSameError) as error:
                log.error("%s is neither here nor in the store: %s", name, error)
            else:
                row.delete()

"""What is done once a day: leftovers of crashes are swept up, and the Record gets a checkpoint."""

import logging
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django_tasks_db.models import DBTaskResult

from readiness import clock
from readiness.actions.photos.keeping import delete_left_bytes
from readiness.evidence import checkpoints
from readiness.models import SecurityEvent
from readiness.photos import store

log = logging.getLogger(__name__)

LEFT_OVER_SECONDS = 24 * 3600
"""No upload and no decoding takes a day; what is older belongs to a process that died."""

TASKS_KEPT = {"SUCCESSFUL": timedelta(days=2), "FAILED": timedelta(days=14)}
"""What a task did stands on its row; the task itself is of use only to find out why it failed."""


def sweep() -> None:
    """Do all of it; what fails is logged, and waits for the next day."""
    for part in _PARTS:
        try:
            part()
        except Exception:
            log.exception("Sweeping up failed in part: %s", part.__name__)


def _sessions() -> None:
    call_command("clearsessions")


def _task_results() -> None:
    for status, kept in TASKS_KEPT.items():
        DBTaskResult.objects.filter(status=status, finished_at__lt=clock.now() - kept).delete()


def _security_log() -> None:
    oldest = clock.now() - timedelta(days=settings.READINESS_SECURITY_LOG_DAYS)
    SecurityEvent.objects.filter(at__lt=oldest).delete()


def _uploads() -> None:
    """Files of requests that were cut off by a kill: Django names them so."""
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR or tempfile.gettempdir())
    for path in folder.glob("tmp*.upload*"):
        if path.is_file() and path.stat().st_uid == os.getuid():
            _delete_if_old(path)


def _incoming() -> None:
    """Folders in which a photo was being taken in."""
    incoming = store.local_path(store.INCOMING)
    if incoming is not None and incoming.is_dir():
        for path in incoming.iterdir():
            _delete_if_old(path)


def _deleted_photos() -> None:
    """Bytes that were to go and could not, as the store was silent."""
    left = delete_left_bytes()
    if left:
        log.warning("Deleted the bytes of %s photos that were deleted before", left)


def _checkpoint() -> None:
    """What was done since the last one, also where nobody issued or confirmed anything."""
    checkpoints.make_quietly(checkpoints.Reason.DAILY)


def _delete_if_old(path: Path) -> None:
    try:
        if time.time() - path.stat().st_mtime < LEFT_OVER_SECONDS:
            return
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()
    except FileNotFoundError:
        return  # somebody else was faster
    log.warning("Swept up %s", path.name)


_PARTS: tuple[Callable[[], None], ...] = (
    _sessions,
    _task_results,
    _security_log,
    _uploads,
    _incoming,
    _deleted_photos,
    _checkpoint,
)

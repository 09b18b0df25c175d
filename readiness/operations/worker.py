"""The background worker: does what waits, finds what was left behind, and outlives what fails.

One process, one thing at a time; there may be several on several machines. Its loop is also the
demo's background thread.
"""

import logging
import time
import traceback
from collections.abc import Callable
from threading import Event

from django.db import close_old_connections, connections
from django_tasks_db.models import DBTaskResult

from readiness import errands
from readiness.actions.catching_up import catch_up
from readiness.actions.task_loop import TaskLoop, until_none_waits
from readiness.operations import sweeping, watch
from readiness.patience import Patience, patience

log = logging.getLogger(__name__)

PAUSE_SECONDS = 1.0
LONGEST_PAUSE_SECONDS = 15.0
IN_ONE_GO = 5
"""Tasks between two looks round: a silent mail server takes 20 s of each."""

SWEEP_SECONDS = 24 * 3600.0


class Worker:
    """Call `run`, and `stop` from a signal or another thread.

    Where a task hangs for hours, `on_stuck` is called from another thread: end the process there.
    """

    def __init__(
        self,
        *,
        pause_seconds: float = PAUSE_SECONDS,
        on_stuck: Callable[[], None] = lambda: None,
    ):
        self.name = errands.this_worker()
        self._pause_seconds = pause_seconds
        self._stopping = Event()
        self._tasks: TaskLoop | None = None
        self._on_stuck = on_stuck
        self._told: set[tuple] = set()
        self._heart = watch.Heart(self.name, self._in_trouble, self._stuck)
        self._watch = watch.Watch(self.name)
        self._look_round = _Every(lambda: watch.BEAT_SECONDS)
        self._sweep = _Every(lambda: SWEEP_SECONDS)

    def run(self) -> None:
        """Work until stopped. A database that is away is waited for, however long it takes."""
        pause = self._pause_seconds
        alive = False
        while not self._stopping.is_set():
            self._heart.moved()
            try:
                close_old_connections()
                if not alive:
                    self._heart.start()
                    alive = True
                with patience(Patience.WORKER):  # nobody waits for it, and it tries again
                    self._round()
                pause = self._pause_seconds
                self._told.clear()
            except Exception as error:
                self._in_trouble(error)
                connections.close_all()
                pause = min(pause * 2, LONGEST_PAUSE_SECONDS)
            self._stopping.wait(pause)
        self._end()

    def stop(self) -> None:
        """End after the thing under way."""
        self._stopping.set()
        if self._tasks is not None:
            self._tasks.running = False

    @property
    def is_stopping(self) -> bool:
        return self._stopping.is_set()

    def _round(self) -> None:
        # Between tasks this worker has nothing in hand: what it seems to have it could not note.
        errands.release({self.name})
        if self._look_round.is_due():
            watch.release({self.name})
            watch.bury(self._watch.stopped())
            catch_up()
        if self._sweep.is_due():
            sweeping.sweep()
        while DBTaskResult.objects.ready().exists() and not self._stopping.is_set():
            self._tasks = until_none_waits(self.name, IN_ONE_GO, after_each=self._heart.moved)
            self._tasks.running = not self._stopping.is_set()
            self._tasks.run()
            if self._look_round.is_late():
                return

    def _end(self) -> None:
        try:
            self._heart.stop()
        except Exception as error:
            self._in_trouble(error)
        connections.close_all()

    def _stuck(self) -> None:
        log.critical("The worker has hung in one task for hours: others take over from it.")
        self._on_stuck()

    def _in_trouble(self, error: Exception) -> None:
        """One line in the log, and of each kind of trouble once where in the program it came up."""
        kind = (type(error), *_place_of(error))
        log.error(
            "The worker stumbled, and goes on: %s",
            " ".join(str(error).split()) or type(error).__name__,
            exc_info=None if kind in self._told else error,
        )
        self._told.add(kind)


def _place_of(error: BaseException) -> tuple[str, int]:
    """The file and line that raised it."""
    frames = traceback.extract_tb(error.__traceback__)
    return (frames[-1].filename, frames[-1].lineno or 0) if frames else ("", 0)


class _Every:
    """Due at once, and then again after so many seconds of steady time."""

    def __init__(self, seconds: Callable[[], float]):
        self._seconds = seconds
        self._last: float | None = None

    def is_late(self) -> bool:
        return self._last is None or time.monotonic() - self._last >= self._seconds()

    def is_due(self) -> bool:
        due = self.is_late()
        if due:
            self._last = time.monotonic()
        return due

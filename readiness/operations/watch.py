"""Which workers have stopped, so that what they had claimed can be done by another.

A worker counts its beats in a row of `LastDone`. Whoever watches measures with its own steady clock
how long a count stands still: the time of day, which may be set forward or back on any machine,
plays no part. So nothing is taken from a worker that lives, and nothing is left with a dead one.
"""

import time
from collections.abc import Callable
from threading import Event, Thread

from django.db import connections
from django_tasks_db.models import DBTaskResult

from readiness import clock, errands
from readiness.models import LastDone

PREFIX = "worker/"
BEAT_SECONDS = 30.0
LEASE_SECONDS = 4 * BEAT_SECONDS
"""A worker that has not beaten for so long is dead, or as good as."""

STUCK_SECONDS = 2 * 3600.0
"""No task takes so long. What hangs in one, on a server that sends a byte now and then, lives and
does nothing."""


class Heart:
    """Beats in a thread of its own, also while a paper takes minutes."""

    def __init__(
        self,
        worker: str,
        on_trouble: Callable[[Exception], None],
        on_stuck: Callable[[], None] = lambda: None,
    ):
        self.worker, self._on_trouble, self._on_stuck = worker, on_trouble, on_stuck
        self._moved_at = time.monotonic()
        self._began, self._beats = clock.now(), 0
        self._stopping = Event()
        self._thread = Thread(target=self._run, name="heartbeat", daemon=True)

    def start(self) -> None:
        """The first beat comes before any work is done; raises when it can't be written."""
        self.beat()
        self._thread.start()

    def beat(self) -> None:
        self._beats += 1
        LastDone.note(PREFIX + self.worker, beat=self._beats, since=self._began.isoformat())

    def moved(self) -> None:
        """The worker came on: with one task, or round its loop."""
        self._moved_at = time.monotonic()

    def is_stuck(self) -> bool:
        return time.monotonic() - self._moved_at >= STUCK_SECONDS

    def stop(self) -> None:
        """A worker that ends in order leaves no heartbeat behind."""
        self._stopping.set()
        if self._thread.ident is not None:  # the database may not have let it begin
            self._thread.join(LEASE_SECONDS)
        LastDone.objects.filter(name=PREFIX + self.worker).delete()

    def _run(self) -> None:
        while not self._stopping.wait(BEAT_SECONDS):
            try:
                if self.is_stuck():  # no beat: what it has in hand goes to another worker
                    self._on_stuck()
                else:
                    self.beat()
            except Exception as error:
                self._on_trouble(error)
            finally:
                connections.close_all()


class Watch:
    """One worker's eye on the others; it has to look again and again."""

    def __init__(self, me: str, steady: Callable[[], float] = time.monotonic):
        self._me, self._steady = me, steady
        self._seen: dict[str, tuple[object, float]] = {}

    def stopped(self) -> set[str]:
        """Workers of which nothing has moved for the length of a lease, since first looked at."""
        now, signs = self._steady(), self._signs()
        self._seen = {
            worker: seen if (seen := self._seen.get(worker)) and seen[0] == sign else (sign, now)
            for worker, sign in signs.items()
        }
        return {worker for worker, (_, since) in self._seen.items() if now - since >= LEASE_SECONDS}

    def _signs(self) -> dict[str, object]:
        """What moves while a worker lives: its beats; without a heart, which things it has."""
        signs: dict[str, object] = {}
        for model in errands.ERRANDS:
            claims = model.objects.under_way().values_list("claimed_by", "pk", "attempts")
            for worker, pk, attempts in claims:
                signs[worker] = (*signs.get(worker, ()), (pk, attempts))  # type: ignore[misc]
        for worker, pk in _tasks_running():
            signs[worker] = (*signs.get(worker, ()), pk)  # type: ignore[misc]
        for row in LastDone.objects.filter(name__startswith=PREFIX):
            signs[row.name.removeprefix(PREFIX)] = row.details.get("beat")
        signs.pop(self._me, None)
        return signs


def bury(workers: set[str]) -> int:
    """Let go of all that dead workers had in hand; returns how many things go on elsewhere."""
    if not workers:
        return 0
    released = release(workers)
    LastDone.objects.filter(name__in=[PREFIX + worker for worker in workers]).delete()
    return released


def release(workers: set[str]) -> int:
    """Let go of what these workers claimed and are not doing any more."""
    for worker, pk in _tasks_running():
        if worker in workers:
            _end_task(pk)
    return errands.release(workers)


def _tasks_running() -> list[tuple[str, object]]:
    """The tasks that a worker has begun, with that worker's name."""
    running = DBTaskResult.objects.running().order_by()
    return [(workers[-1], pk) for pk, workers in running.values_list("pk", "worker_ids") if workers]


def _end_task(pk) -> None:
    """What it was about is found by its row; the task itself only has to stop looking alive."""
    DBTaskResult.objects.running().filter(pk=pk).update(
        status="FAILED",
        finished_at=clock.now(),
        exception_class_path="builtins.SystemExit",
        traceback="The worker stopped.",
    )

"""Background work inside the process that serves: for the demo, where one process does it all."""

from __future__ import annotations

import logging
from threading import Event, Thread
from time import monotonic

from django.db import connections
from django_tasks_db.management.commands.db_worker import Worker

from readiness.actions.tasks import catch_up

log = logging.getLogger(__name__)

CATCH_UP_SECONDS = 300


class BackgroundWorker:
    """A thread that does waiting tasks until it is stopped, and survives what goes wrong."""

    def __init__(self, pause_seconds: float = 0.5):
        self._pause_seconds = pause_seconds
        self._stopping = Event()
        self._worker: Worker | None = None
        self._thread = Thread(target=self._work, name="background-work", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self, wait_seconds: float = 15) -> None:
        """Let the task under way end, then stop; tasks left are done next time."""
        self._stopping.set()
        if self._worker is not None:
            self._worker.running = False
        self._thread.join(wait_seconds)

    def _work(self) -> None:
        caught_up = None
        while not self._stopping.is_set():
            try:
                if caught_up is None or monotonic() - caught_up > CATCH_UP_SECONDS:
                    catch_up()
                    caught_up = monotonic()
                self._worker = until_none_waits("demo")
                self._worker.running = not self._stopping.is_set()
                self._worker.run()
            except Exception:
                log.exception("Background work stumbled; it goes on")
            self._stopping.wait(self._pause_seconds)
        connections.close_all()


def until_none_waits(name: str) -> Worker:
    """A worker whose `run()` does the waiting tasks and returns when there are none left."""
    return Worker(
        queue_names=["*"],
        excluded_queue_names=[],
        interval=0,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id=name,
    )

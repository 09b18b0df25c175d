"""Background work inside the process that serves: for the demo, where one process does it all."""

from threading import Thread

from readiness.operations.worker import Worker


class BackgroundWorker:
    """The same loop as `manage.py worker`, in a thread."""

    def __init__(self, pause_seconds: float = 0.5):
        self._worker = Worker(pause_seconds=pause_seconds)
        self._thread = Thread(target=self._worker.run, name="background-work", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self, wait_seconds: float = 15) -> None:
        """Let the task under way end, then stop; tasks left are done next time."""
        self._worker.stop()
        self._thread.join(wait_seconds)

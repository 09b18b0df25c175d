"""Handing pictures to the decoder processes and taking the answers, or their failure."""

import atexit
import contextlib
import json
import os
import queue
import select
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from readiness.photos.limits import LIMITS, Limits
from readiness.photos.slots import NoSlotError, slot

PROJECT = Path(__file__).resolve().parents[2]
JOBS_PER_PROCESS = 500
WAIT_SECONDS = 30
# One picture at a time on one core: memory for more threads would count against its limit.
ONE_THREAD = {"MALLOC_ARENA_MAX": "2", "OPENBLAS_NUM_THREADS": "1"}
START = (
    "import sys; sys.path.insert(0, sys.argv.pop(1)); from readiness.photos.worker import main; "
    "main()"
)


class DecodingError(Exception):
    """The picture was not decoded; ``problem`` and ``details`` fit ``limits.explain``."""

    def __init__(self, problem: str, details: dict | None = None):
        self.problem, self.details = problem, details or {}
        super().__init__(f"{problem} {self.details}")


class _Worker:
    def __init__(self, limits: Limits):
        self.limits = limits
        self.jobs = 0
        self.process = subprocess.Popen(
            [sys.executable, "-P", "-c", START, str(PROJECT), json.dumps(asdict(limits))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={"PATH": os.environ.get("PATH", ""), **ONE_THREAD},
        )

    @property
    def usable(self) -> bool:
        return self.jobs < JOBS_PER_PROCESS and self.process.poll() is None

    def run(self, job: dict) -> dict:
        self.jobs += 1
        answer, too_slow = b"", False
        try:
            self.process.stdin.write(json.dumps(job).encode() + b"\n")
            self.process.stdin.flush()
            ready, _, _ = select.select([self.process.stdout], [], [], self.limits.seconds + 5)
            too_slow = not ready
            answer = self.process.stdout.readline() if ready else b""
        except BrokenPipeError:
            pass
        if not answer:
            self.stop()
            raise DecodingError("too_slow" if too_slow else self._cause_of_death())
        return json.loads(answer)

    def _cause_of_death(self) -> str:
        """Out of processor time; killed from outside, such as for lack of memory; or the photo."""
        return {-signal.SIGXCPU: "too_slow", -signal.SIGKILL: "busy"}.get(
            self.process.returncode, "broken"
        )

    def stop(self) -> None:
        if self.process.poll() is None:
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(timeout=0.2)
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):
                pipe.close()


class DecoderPool:
    """Keeps up to ``size`` decoder processes for this process; safe to use from many threads.

    Over all processes of the machine only as many decode at once as there are ``slots``.
    """

    def __init__(self, limits: Limits = LIMITS, size: int | None = None):
        self.limits = limits
        self.size = size or min(4, len(os.sched_getaffinity(0)))
        self._forget()

    def _forget(self) -> None:
        """Start without processes: at first, and in a child that forked with its parent's pool."""
        self._pid = os.getpid()
        self._idle: queue.LifoQueue = queue.LifoQueue()
        self._slots = threading.BoundedSemaphore(self.size)

    def run(self, job: dict, wait_seconds: float) -> dict:
        """The worker's answer to one job (see ``worker.run``). Raises ``DecodingError``.

        ``wait_seconds`` is how long it may wait for its turn, before the decoding.
        """
        if self._pid != os.getpid():
            self._forget()
        with self._turn(wait_seconds):
            worker = self._take()
            try:
                answer = worker.run(job)
            finally:
                if worker.usable:
                    self._idle.put(worker)
                else:
                    worker.process.stdin.close()
                    worker.stop()
        if "problem" in answer:
            raise DecodingError(answer["problem"], answer["details"])
        return answer

    @contextlib.contextmanager
    def _turn(self, wait_seconds: float) -> Iterator[None]:
        """Wait for a turn in this process, then on this machine."""
        until = time.monotonic() + wait_seconds
        if not self._slots.acquire(timeout=wait_seconds):
            raise DecodingError("busy")
        try:
            with slot(until - time.monotonic()):
                yield
        except NoSlotError as error:
            raise DecodingError("busy") from error
        finally:
            self._slots.release()

    def _take(self) -> _Worker:
        while True:
            try:
                worker = self._idle.get_nowait()
            except queue.Empty:
                return _Worker(self.limits)
            if worker.usable:
                return worker
            worker.stop()

    def close(self) -> None:
        if self._pid != os.getpid():
            return
        while not self._idle.empty():
            worker = self._idle.get_nowait()
            with contextlib.suppress(OSError):
                worker.process.stdin.close()
            worker.stop()

    def process_ids(self) -> list[int]:
        """Ids of the idle decoder processes, for tests of memory."""
        return [worker.process.pid for worker in list(self._idle.queue)]


POOL = DecoderPool()
atexit.register(POOL.close)


def decode(
    path, kind: str, large, small, *, blurs=(), fingerprint=True, pool=None, wait=None
) -> dict:
    """Decode the file at ``path``, write its two sizes to ``large`` and ``small`` (paths).

    ``blurs`` are boxes as fractions (left, top, right, bottom) of the displayed picture. Returns
    the facts listed at ``pixels.read`` without the pictures. ``wait`` is how many seconds it may
    wait for its turn, ``WAIT_SECONDS`` if not said. Raises ``DecodingError``.
    """
    job = {
        "path": str(path),
        "kind": kind,
        "large": str(large),
        "small": str(small),
        "blurs": [list(box) for box in blurs],
        "fingerprint": fingerprint,
    }
    return (pool or POOL).run(job, WAIT_SECONDS if wait is None else wait)


def joints(path, corners, courses: int, *, open_too: bool, pool=None, wait=None) -> dict:
    """Bed joints of brickwork in the JPEG at ``path`` (see ``worker.found_joints``).

    ``corners`` are four places as shares of the picture. Raises ``DecodingError``.
    """
    job = {
        "path": str(path),
        "corners": [list(corner) for corner in corners],
        "courses": courses,
        "open_too": open_too,
    }
    return (pool or POOL).run(job, WAIT_SECONDS if wait is None else wait)

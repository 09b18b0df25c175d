"""How many pictures this machine decodes at once, over all processes of the installation.

A decoder of a large picture needs some hundred megabytes for a few seconds. So whoever decodes
first takes one of a few slots: a file that it locks. The system lets go of the lock when its
holder ends, however it ends; so nothing has to be cleared up after a crash.
"""

import contextlib
import fcntl
import os
import random
import time
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

DECODER_BYTES = 600 * 1024 * 1024
MEMORY_LIMITS = ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory/memory.limit_in_bytes")
PAUSE_SECONDS = (0.02, 0.08)


class NoSlotError(Exception):
    """All slots stayed taken for as long as one would wait."""


def slots_for(cores: int, memory_bytes: int) -> int:
    """One a core, as far as memory lasts; always one."""
    return max(1, min(cores, memory_bytes // DECODER_BYTES))


def slot_count() -> int:
    """What the setting says, or what this machine bears."""
    return settings.READINESS_DECODERS or slots_for(os.cpu_count() or 1, _memory_bytes())


def _memory_bytes() -> int:
    """The memory of this machine, or of the container that holds us if that is less."""
    found = [os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")]
    for path in MEMORY_LIMITS:
        with contextlib.suppress(OSError, ValueError):
            found.append(int(Path(path).read_text()))
    return min(found)


def slot_folder() -> Path:
    """Where this machine's slots lie; machines that share a data folder have slots of their own."""
    return Path(settings.READINESS_DATA) / "decoders" / os.uname().nodename


@contextlib.contextmanager
def slot(wait_seconds: float) -> Iterator[int]:
    """Hold a slot; its number. Raises ``NoSlotError`` when none came free in that time."""
    folder = slot_folder()
    folder.mkdir(parents=True, exist_ok=True)
    until = time.monotonic() + wait_seconds
    while True:
        for number in range(slot_count()):
            descriptor = _lock(folder / f"slot-{number}")
            if descriptor is None:
                continue
            try:
                yield number
            finally:
                os.close(descriptor)
            return
        if time.monotonic() >= until:
            raise NoSlotError
        time.sleep(random.uniform(*PAUSE_SECONDS))  # noqa: S311  only spreads those who wait


def _lock(path: Path) -> int | None:
    """A descriptor that holds the file's lock until it is closed; None when another has it."""
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o640)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        return None
    except OSError:
        os.close(descriptor)
        raise
    return descriptor

"""Photos kept in a folder of this machine while the object store does not answer.

They lie under READINESS_DATA/waiting by the name that they will have in the store. Whatever reads
photos looks here first, so that nobody notices; `moving` takes them to the store. What lies here
is on one disk only: `SpooledOriginal` says so for each original, wherever its photos are shown.
"""

import contextlib
import fcntl
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from readiness.models import Original, SpooledOriginal

HALF_WRITTEN = ".half-"


def folder() -> Path:
    return Path(settings.READINESS_DATA) / "waiting"


def machine() -> str:
    """The name of this machine, as the rows have it."""
    return os.uname().nodename[:120]


def path_of(name: str) -> Path:
    return folder() / name


def holds(name: str) -> bool:
    return path_of(name).is_file()


def keep(source: Path, name: str) -> None:
    """Copy the file to its place here, whole or not at all, flushed to disk with its folders."""
    target = path_of(name)
    if target.is_file():
        return
    missing = [part for part in (target.parent, *target.parent.parents) if not part.exists()]
    target.parent.mkdir(mode=0o750, parents=True, exist_ok=True)
    handle, half = tempfile.mkstemp(prefix=HALF_WRITTEN, dir=target.parent)
    try:
        with source.open("rb") as content, open(handle, "wb") as out:
            shutil.copyfileobj(content, out, 1 << 20)
            out.flush()
            os.fsync(out.fileno())
        os.replace(half, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(half)
        raise
    for made in (target.parent, *(part.parent for part in missing)):
        flush_folder(made)


def flush_folder(where: Path) -> None:
    """Have the entries of a folder on disk, so that a power cut does not lose a new file's name."""
    descriptor = os.open(where, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def drop(name: str) -> None:
    path_of(name).unlink(missing_ok=True)


def names(under: str = "") -> Iterator[str]:
    """Names of the files kept here, originals before sizes; half-written ones are none of them."""
    for path in sorted((folder() / under).rglob("*")):
        if path.is_file() and not path.name.startswith("."):
            yield str(path.relative_to(folder()))


def age_seconds(name: str) -> float:
    return time.time() - path_of(name).stat().st_mtime


def sweep_half_written(older_than_seconds: float) -> None:
    """Remove what a crash left half written."""
    for path in folder().rglob(f"{HALF_WRITTEN}*"):
        with contextlib.suppress(FileNotFoundError):
            if time.time() - path.stat().st_mtime > older_than_seconds:
                path.unlink()


def mark(original: Original) -> None:
    """Write down, in the caller's transaction, that an original lies here only."""
    SpooledOriginal.objects.update_or_create(original=original, defaults={"machine": machine()})


@contextlib.contextmanager
def alone() -> Iterator[bool]:
    """Whether this process is the only one on this machine that moves now; held for the block."""
    folder().mkdir(mode=0o750, parents=True, exist_ok=True)
    with open(folder() / ".moving", "w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            yield False
            return
        yield True

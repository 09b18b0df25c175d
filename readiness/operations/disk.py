"""Files that are whole or not there, also after a power cut."""

import fcntl
import hashlib
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from readiness.operations import Trouble

CHUNK_BYTES = 1 << 20


def flush(path: Path) -> None:
    """Bring a file, or a folder's list of names, to the disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def write_whole(path: Path, chunks: Iterable[bytes], *, mode: int = 0o600) -> None:
    """Write beside, flush, rename: under its name the file is whole, or it is not there."""
    beside = path.with_name(f".{path.name}.part")
    try:
        descriptor = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
        with os.fdopen(descriptor, "wb") as out:
            for chunk in chunks:
                out.write(chunk)
            out.flush()
            os.fsync(out.fileno())
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    flush(path.parent)


def digest_of(path: Path) -> str:
    """SHA-256 of a file, in hex."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def chunks_of(stream) -> Iterator[bytes]:
    while chunk := stream.read(CHUNK_BYTES):
        yield chunk


@contextmanager
def only_one(folder: Path) -> Iterator[None]:
    """Alone in a folder of back-ups; the lock ends with the process, however that ends."""
    with (folder / ".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise Trouble(f"Another back-up into {folder} is running.") from error
        yield

"""Where photo files lie: writing whole or not at all, reading, deleting, listing.

Works with any Django storage under the alias ``photos``. On a file system a file is written
beside its place, flushed to disk and linked there; object stores write whole objects by themselves.
While an object store does not answer, new files are kept on this machine (see ``spool``).
"""

import contextlib
import logging
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from django.core.files import File
from django.core.files.storage import FileSystemStorage, storages

from readiness.photos import spool

log = logging.getLogger(__name__)

INCOMING = "incoming"


class StoreError(Exception):
    """A file could not be written or read."""


class StoreUnreachable(OSError):
    """The object store does not answer, or refuses for now: nothing is said about the file."""


def storage():
    return storages["photos"]


def local_path(name: str) -> Path | None:
    """The file's path when the storage is a folder on this machine, else None."""
    where = storage()
    return Path(where.path(name)) if isinstance(where, FileSystemStorage) else None


@contextlib.contextmanager
def workspace() -> Iterator[Path]:
    """A folder of its own to work in, on the storage's file system if it has one; gone after."""
    incoming = local_path(INCOMING)
    if incoming is not None:
        incoming.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp(prefix="photo-", dir=incoming))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def is_local() -> bool:
    """Is the storage a folder on this machine?"""
    return isinstance(storage(), FileSystemStorage)


def exists(name: str) -> bool:
    return _waits_here(name) or storage().exists(name)


def _waits_here(name: str) -> bool:
    return not is_local() and spool.holds(name)


def put(source: Path, name: str, *, for_good: bool = True, may_wait: bool = False) -> None:
    """Store the file at ``source`` under ``name`` too, whole or not at all.

    A file already there stays as it is, with the time of now: names follow from the content. What
    can be made again is put with ``for_good`` off: its folder entry may then be lost in a power
    cut, never half the file. With ``may_wait`` a file that an object store does not take now is
    kept on this machine until it does (``spool.holds`` tells). Raises ``StoreError``.
    """
    target = local_path(name)
    try:
        if target is not None:
            _put_on_disk(source, target, for_good)
        elif may_wait:
            _put_or_keep(source, name)
        else:
            _put_through_storage(source, name)
    except OSError as error:
        raise StoreError(str(error)) from error


def _put_or_keep(source: Path, name: str) -> None:
    try:
        _put_through_storage(source, name)
    except StoreUnreachable as error:
        log.warning("Kept on this machine for now, %s: %s", name, error)
        spool.keep(source, name)


def _put_on_disk(source: Path, target: Path, for_good: bool) -> None:
    """Link the flushed file to its place; copy and rename where links are not supported."""
    missing = [part for part in (target.parent, *target.parent.parents) if not part.exists()]
    target.parent.mkdir(parents=True, exist_ok=True)
    with source.open("rb") as written:
        os.fsync(written.fileno())
    try:
        os.link(source, target)
    except FileExistsError:
        os.utime(target)  # a sweep must not take it for an old orphan meanwhile
        return
    except OSError:
        copy = source.with_name(f"{target.name}.copy")
        shutil.copyfile(source, copy)
        os.replace(copy, target)
    if for_good:
        for folder in (target.parent, target.parent.parent, *(part.parent for part in missing)):
            spool.flush_folder(folder)


def _put_through_storage(source: Path, name: str) -> None:
    """Replace the object, if there is one, by the same bytes: a sweep sees that it is wanted."""
    with source.open("rb") as content:
        stored = storage().save(name, File(content))
    if stored != name:  # a storage that does not replace: the same content is there already
        storage().delete(stored)


def open_file(name: str):
    """The stored file, open for reading bytes. Raises ``FileNotFoundError``."""
    if not is_local():
        with contextlib.suppress(FileNotFoundError):  # moved in between: then the store has it
            return spool.path_of(name).open("rb")
    return storage().open(name, "rb")


@contextlib.contextmanager
def on_disk(name: str) -> Iterator[Path]:
    """A path to read the stored file from: itself, or a copy fetched for the moment."""
    path = local_path(name)
    if path is not None:
        yield path
        return
    with workspace() as folder:  # a copy of what waits here too: it may be moved at any time
        copy = folder / "original"
        with open_file(name) as stored, copy.open("wb") as out:
            shutil.copyfileobj(stored, out, 1 << 20)
        yield copy


def delete(name: str) -> None:
    if not is_local():
        spool.drop(name)
    with contextlib.suppress(FileNotFoundError):
        storage().delete(name)


def walk(folder: str) -> Iterator[str]:
    """Names of all stored files under a folder."""
    try:
        folders, files = storage().listdir(folder)
    except (FileNotFoundError, NotADirectoryError):
        return
    for name in sorted(files):
        yield f"{folder}/{name}"
    for name in sorted(folders):
        yield from walk(f"{folder}/{name}")


def age_seconds(name: str) -> float:
    """Seconds since the stored file was last written."""
    return time.time() - storage().get_modified_time(name).timestamp()

"""The shelf of a folder of back-ups: each photo original and paper once, by its SHA-256."""

import hashlib
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from django.core.files.storage import storages

from readiness.operations import Trouble, disk
from readiness.operations.layout import SHELF, StoredFile, files_of, shelved, whole_ones
from readiness.photos import store as photo_store

PAUSES_SECONDS = (1, 5, 15)
"""Between tries to read from a store that does not answer."""

ROUNDS = 30
"""A file that is there already is read again in one of so many back-ups."""


class NotAsNamed(Exception):
    """The store's file is missing, or is not what the database says; the text says which."""


class StoreSilent(Exception):
    """The store failed to answer, which says nothing about the file."""


def put_on(folder: Path, file: StoredFile, turn: int) -> bool:
    """Have the file on the shelf; True when it was copied now. Raises ``NotAsNamed``, ``Trouble``.

    One that lies there with the right size is left alone, but in every 30th `turn` its bytes are
    read again, and a rotten copy is replaced.
    """
    place = folder / shelved(file.sha256)
    if _is_there(place, file, turn):
        return False
    place.parent.mkdir(parents=True, exist_ok=True)
    for pause in (*PAUSES_SECONDS, None):
        try:
            _copy(file, place)
            return True
        except StoreSilent as error:
            if pause is None:
                raise Trouble(f"The {file.store} can't be read: {error}") from error
            time.sleep(pause)
    return True


def _is_there(place: Path, file: StoredFile, turn: int) -> bool:
    try:
        size = place.stat().st_size
    except FileNotFoundError:
        return False
    if file.byte_size is not None and size != file.byte_size:
        return False
    looked_at_now = file.byte_size is None or int(file.sha256[:4], 16) % ROUNDS == turn % ROUNDS
    return not looked_at_now or disk.digest_of(place) == file.sha256


def _copy(file: StoredFile, place: Path) -> None:
    try:
        disk.write_whole(place, _checked(file))
    except OSError as error:
        raise Trouble(f"{place.parent} can't be written: {error.strerror or error}.") from error


def _checked(file: StoredFile) -> Iterator[bytes]:
    """The store's bytes; at their end, refused if they are not what the database names."""
    digest = hashlib.sha256()
    for chunk in _stored(file):
        digest.update(chunk)
        yield chunk
    if digest.hexdigest() != file.sha256:
        raise NotAsNamed("was changed")


def _stored(file: StoredFile) -> Iterator[bytes]:
    try:
        with closing(_open(file)) as stream:
            while chunk := stream.read(disk.CHUNK_BYTES):
                yield chunk
    except FileNotFoundError as error:
        raise NotAsNamed("is missing") from error
    except OSError as error:
        raise StoreSilent(str(error)) from error


def _open(file: StoredFile):
    if file.store == "photos":
        return photo_store.open_file(file.name)
    return storages[file.store].open(file.name, "rb")


def sweep(folder: Path) -> int:
    """Take from the shelf what no back-up of the folder lists; returns how many files that was.

    Raises ``Trouble``, and sweeps nothing, where a list can't be read.
    """
    wanted = {
        bytes.fromhex(file.sha256)
        for name in whole_ones(folder)
        for file in files_of(folder / name)
    }
    gone = 0
    for path in (folder / SHELF).glob("*/*"):
        if not _is_wanted(path.name, wanted):
            path.unlink(missing_ok=True)
            gone += 1
    return gone


def _is_wanted(name: str, wanted: set[bytes]) -> bool:
    try:
        return bytes.fromhex(name) in wanted
    except ValueError:  # what a killed copy left
        return False

"""Making a back-up: the database at one moment, then the files that it names; all or nothing."""

import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path

from django.db import connection

from readiness import clock
from readiness.evidence.signing import BadKey
from readiness.models import LastDone, Original, Paper
from readiness.operations import FORMAT, Trouble, database, disk, installation, shelf
from readiness.operations.layout import (
    FILES,
    MANIFEST,
    NAME,
    SECRET_KEY,
    SIGNING_KEY,
    SUMS,
    UNFINISHED,
    StoredFile,
    files_of,
    name_at,
    shelved,
    whole_ones,
)
from readiness.version import VERSION

ATTEMPTS = 3
DAY_SECONDS = 86_400
NOT_IN_IT = (
    "the environment variables (mail server, database and object store with their passwords)",
    "TLS certificates, and the configuration of the proxy and of services",
    "the program itself: install the version named here",
    "smaller sizes of photos: they are made again when they are looked at",
)
NO_KEY = (
    "SECRET_KEY: it is in no file. Keep it elsewhere: without it everybody signs in anew, and "
    "authenticator apps have to be set up again"
)
NO_SIGNING_KEY = (
    "READINESS_SIGNING_KEY: it is in no file. Keep it elsewhere: without it checkpoints are signed "
    "with a new key, and everybody sees the change"
)

# What the database names. A deleted original has a row and no file.
PHOTOS_SQL = "SELECT digest, byte_size FROM readiness_original WHERE deleted_at IS NULL"
PAPERS_SQL = (
    "SELECT DISTINCT storage_name, digest, byte_size FROM readiness_paper WHERE state = 'made'"
)


@dataclass
class Made:
    """A back-up that is in its place: where, how much, and what could not be copied."""

    path: Path
    files: int = 0
    bytes: int = 0
    copied: int = 0
    pruned: list[str] = field(default_factory=list)
    missing: list[dict] = field(default_factory=list)


class DeletedMeanwhile(Exception):
    """Somebody deleted a photo after the database was copied: copy the database again."""


def make_backup(folder: Path, *, keep: int | None = None, say: Callable = lambda words: None):
    """Make a back-up in `folder` and note it; returns ``Made``. Raises ``Trouble``.

    With `keep` only so many of the folder's back-ups stay, this one among them.
    """
    started = time.monotonic()
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with disk.only_one(folder):
            made = _make(folder, say)
            if keep is not None:
                made.pruned = _prune(folder, keep, made.path.name)
    except OSError as error:
        raise Trouble(f"{folder} can't be written: {error.strerror or error}.") from error
    LastDone.note(
        "backup",
        dir=str(folder),
        which=made.path.name,
        files=made.files,
        bytes=made.bytes,
        missing=len(made.missing),
        seconds=round(time.monotonic() - started, 1),
    )
    return made


def _make(folder: Path, say: Callable) -> Made:
    _sweep_unfinished(folder)
    for attempt in range(1, ATTEMPTS + 1):
        name = _free_name(folder)
        making = folder / f"{UNFINISHED}{name}"
        making.mkdir(mode=0o700)
        try:
            made = _fill(folder, making, say, is_last=attempt == ATTEMPTS)
            made.path = folder / name
            os.replace(making, made.path)  # only now it is a back-up
            disk.flush(folder)
            return made
        except DeletedMeanwhile:
            say("A photo was deleted meanwhile: copying the database again.")
        finally:
            shutil.rmtree(making, ignore_errors=True)
    raise AssertionError("The last attempt returns or raises.")


def _free_name(folder: Path) -> str:
    plain = name = name_at(clock.now())
    number = 2
    while (folder / name).exists():
        name, number = f"{plain}-{number}", number + 1
    return name


def _sweep_unfinished(folder: Path) -> None:
    """What a killed back-up left; its files on the shelf are whole and stay."""
    for path in folder.glob(f"{UNFINISHED}*"):
        shutil.rmtree(path)


def _fill(folder: Path, making: Path, say: Callable, *, is_last: bool) -> Made:
    with database.snapshot(making) as taken:
        say("The database is copied.")
        disk.write_whole(making / FILES, (file.line for file in _named(taken.rows)))
        about = _about(taken)
    made = Made(making)
    for file in files_of(making):
        _shelve(folder, file, made)
    if made.missing and not is_last and _was_deleted(made.missing):
        raise DeletedMeanwhile
    about |= {"files": {"count": made.files, "bytes": made.bytes}, "missing": made.missing}
    about |= _keep_keys(making)
    text = json.dumps(about, indent=1, sort_keys=True, ensure_ascii=False)
    disk.write_whole(making / MANIFEST, [text.encode(), b"\n"])
    disk.write_whole(making / SUMS, _sums(making, made.missing))
    for place in {(folder / shelved(file.sha256)).parent for file in files_of(making)}:
        if place.is_dir():
            disk.flush(place)
    say(f"{made.files} files, {made.copied} of them copied now.")
    return made


def _named(rows: Callable) -> Iterator[StoredFile]:
    for digest, size in rows(PHOTOS_SQL):
        yield StoredFile("photos", Original(digest=digest).storage_name, digest, size)
    for name, digest, size in rows(PAPERS_SQL):
        yield StoredFile("papers", name, digest, size)


def _about(taken: database.Snapshot) -> dict:
    tables = database.tables_here()
    return {
        "format": FORMAT,
        "made_at": clock.now().isoformat(timespec="microseconds"),
        "portal_version": VERSION,
        "database": {
            "vendor": connection.vendor,
            "file": taken.path.name,
            "version": ".".join(map(str, connection.get_database_version())),
        },
        "migrations": sorted(
            list(row) for row in taken.rows("SELECT app, name FROM django_migrations")
        ),
        "rows": database.row_counts(taken.rows, tables),
    }


def _shelve(folder: Path, file: StoredFile, made: Made) -> None:
    turn = int(clock.now().timestamp() // DAY_SECONDS)
    try:
        made.copied += shelf.put_on(folder, file, turn)
    except shelf.NotAsNamed as why:
        made.missing.append({**asdict(file), "why": str(why)})
        return
    made.files += 1
    made.bytes += (folder / shelved(file.sha256)).stat().st_size


def _was_deleted(missing: list[dict]) -> bool:
    """Whether the database, as it is now, no longer names one of the missing files."""
    digests = [one["sha256"] for one in missing]
    photos = Original.objects.filter(digest__in=digests, deleted_at=None)
    papers = Paper.objects.made().filter(digest__in=digests)
    still = {*photos.values_list("digest", flat=True), *papers.values_list("digest", flat=True)}
    return not set(digests) <= still


def _keep_keys(making: Path) -> dict:
    secret = _keep(installation.secret_key_file(), making / SECRET_KEY)
    signing_key = _keep(installation.signing_key_file(), making / SIGNING_KEY)
    signs_with = _signing_key_id()
    left_out = [] if secret else [NO_KEY]
    left_out += [NO_SIGNING_KEY] if signs_with and not signing_key else []
    return {
        "secret_key": {"kept": secret, "mark": installation.key_mark()},
        "signing_key": {"kept": signing_key, "id": signs_with},
        "not_in_it": [*left_out, *NOT_IN_IT],
    }


def _keep(source: Path | None, target: Path) -> bool:
    """Copy a key out of its file, where it is in one."""
    if source is None:
        return False
    try:
        key = source.read_bytes()
    except FileNotFoundError:
        if target.name == SIGNING_KEY:
            return False  # nothing was signed yet
        raise
    except OSError as error:
        raise Trouble(f"The key in {source} can't be read: {error.strerror}.") from error
    disk.write_whole(target, [key])
    return True


def _signing_key_id() -> str:
    try:
        return installation.signing_key_id()
    except BadKey as error:
        raise Trouble(str(error)) from error


def _sums(making: Path, missing: list[dict]) -> Iterator[bytes]:
    """Lines for `sha256sum -c`, run inside the back-up's own folder."""
    for path in sorted(making.iterdir()):
        if not path.name.startswith("."):
            yield f"{disk.digest_of(path)}  {path.name}\n".encode()
    absent = {one["sha256"] for one in missing}
    for file in files_of(making):
        if file.sha256 not in absent:
            yield f"{file.sha256}  ../{shelved(file.sha256)}\n".encode()


def _prune(folder: Path, keep: int, made: str) -> list[str]:
    """Take away the oldest back-ups beyond `keep`, and what then only they had on the shelf."""
    others = [name for name in whole_ones(folder) if name != made]
    doomed = others[: max(len(others) - (keep - 1), 0)]
    for name in doomed:
        assert NAME.fullmatch(name)
        going = folder / f"{UNFINISHED}{name}"
        os.replace(folder / name, going)  # from here on it is no back-up any more
        shutil.rmtree(going)
    if doomed:
        shelf.sweep(folder)
    return doomed

"""Bringing a back-up into an empty installation, on this machine or another."""

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from django.core.files import File
from django.core.files.storage import FileSystemStorage, storages
from django.core.management import call_command
from django.db import connection

from readiness.evidence.checking import Checked
from readiness.evidence.signing import BadKey
from readiness.evidence.verification import verify_all
from readiness.models import LastDone, Message, Original, SpooledOriginal
from readiness.operations import Trouble, database, disk, installation, roles
from readiness.operations.layout import (
    SECRET_KEY,
    SIGNING_KEY,
    StoredFile,
    files_of,
    manifest_of,
    shelved,
)
from readiness.operations.verify import verify_backup
from readiness.photos import sizes, store
from readiness.version import VERSION

OURS = ("readiness_", "django_", "auth_", "account_", "mfa_", "usersessions_")
"""How the names of the portal's tables start."""


@dataclass
class Restored:
    """What was brought back, what `verify_record` found, and what the operator should know."""

    checked: Checked
    files: int = 0
    waiting_mail: int = 0
    notes: list[str] = field(default_factory=list)


def restore(backup: Path, *, say: Callable = lambda words: None) -> Restored:
    """Restore a back-up: files first, the database last, so that a cut-off restore can be rerun.

    Raises ``Trouble``, before anything is changed, where the installation is not empty, the
    back-up does not fit this version, or it is not whole.
    """
    manifest = manifest_of(backup)
    refuse_in_use()
    _refuse_misfit(manifest)
    verified = verify_backup(backup)
    if verified.faults:
        raise Trouble("\n".join([f"{backup} is not whole; nothing was changed:", *verified.faults]))
    say(f"The back-up is whole: {verified.files} files.")
    files = _put_files(backup, manifest)
    say(f"{files} photos and papers are in their place.")
    database.load(backup / manifest["database"]["file"])
    _compare_rows(manifest)
    say("The database is in its place.")
    restored = Restored(Checked(), files, notes=_put_keys(backup, manifest))
    if installation.known_migrations() - installation.applied_migrations():
        say("It is of an earlier version: bringing its tables up to this one.")
        call_command("migrate", verbosity=0, interactive=False)
    _say_in_the_store(manifest)
    _make_sizes_again()
    restored.checked = verify_all()
    restored.waiting_mail = Message.objects.waiting().count()
    LastDone.note("restore", dir=str(backup), made_at=manifest["made_at"], files=files)
    os.sync()
    return restored


def refuse_in_use() -> None:
    """Raises ``Trouble`` unless the database is new, or was migrated and never used."""
    tables = set(database.tables_here())
    foreign = sorted(name for name in tables if not name.startswith(OURS))
    used = [
        name
        for name in installation.EMPTY_IF_NONE_IN
        if name in tables and database.live_rows(f"SELECT 1 FROM {name} LIMIT 1")  # noqa: S608
    ]
    if used or foreign:
        why = "is in use" if used else f"has tables of something else ({', '.join(foreign)})"
        raise Trouble(
            f"The database {connection.settings_dict['NAME']} {why}: nothing was changed. A "
            "back-up goes into an empty installation only. Stop the site, move the old database "
            "away (or name a new one in DATABASE_URL or READINESS_DATA), and restore again."
        )


def _refuse_misfit(manifest: dict) -> None:
    vendor = manifest["database"]["vendor"]
    if vendor != connection.vendor:
        raise Trouble(
            f"The back-up is of a {vendor} database and DATABASE_URL names one of "
            f"{connection.vendor}. Restore it into {vendor}, then use manage.py move_data."
        )
    roles.refuse_another()
    unknown = {tuple(pair) for pair in manifest["migrations"]} - installation.known_migrations()
    if unknown:
        listed = ", ".join(".".join(pair) for pair in sorted(unknown))
        raise Trouble(
            f"The back-up was made by version {manifest['portal_version']}, which knows changes of "
            f"the database that this one ({VERSION}) does not: {listed}. "
            "Install that version or a later one, then restore."
        )


def _put_files(backup: Path, manifest: dict) -> int:
    absent = {one["sha256"] for one in manifest["missing"]}
    count = 0
    for file in files_of(backup):
        if file.sha256 not in absent:
            _put(backup.parent / shelved(file.sha256), file)
            count += 1
    return count


def _put(source: Path, file: StoredFile) -> None:
    """Have the file in its store; one that a cut-off restore left half is replaced."""
    where = storages[file.store]
    try:
        if where.exists(file.name):
            if _is_right(where, source, file):
                return
            where.delete(file.name)
        with source.open("rb") as stream:
            stored = where.save(file.name, File(stream))
    except OSError as error:
        raise Trouble(f"{file.store}: {file.name} can't be put in place: {error}") from error
    if stored != file.name:
        raise Trouble(f"{file.store}: {file.name} can't be put in place.")


def _is_right(where, source: Path, file: StoredFile) -> bool:
    if where.size(file.name) != source.stat().st_size:
        return False
    if isinstance(where, FileSystemStorage):
        return disk.digest_of(Path(where.path(file.name))) == file.sha256
    return True  # an object store writes whole objects; verify_record reads them all in the end


def _compare_rows(manifest: dict) -> None:
    """As many rows of each table as there were when the back-up was made."""
    here = database.row_counts(database.live_rows, database.tables_here())
    if here != manifest["rows"]:
        names = sorted(here.keys() | manifest["rows"].keys())
        wrong = [name for name in names if here.get(name) != manifest["rows"].get(name)]
        raise Trouble(f"Rows are missing or too many in: {', '.join(wrong)}.")


def _put_keys(backup: Path, manifest: dict) -> list[str]:
    return [*_put_key(backup, manifest), *_put_signing_key(backup, manifest)]


def _put_key(backup: Path, manifest: dict) -> list[str]:
    """Bring the secret key back where a file holds it; sentences on what is left to do."""
    about = manifest["secret_key"]
    if about["mark"] == installation.key_mark():
        return []
    kept, target = backup / SECRET_KEY, installation.secret_key_file()
    if not about["kept"] or target is None:
        place = f"It is kept in {kept}. " if about["kept"] else "It is not in the back-up. "
        return [
            f"SECRET_KEY is another one here. {place}Without it everybody signs in anew, and "
            "authenticator apps have to be set up again."
        ]
    disk.write_whole(target, [kept.read_bytes()])
    return [f"The secret key was put back into {target}: restart the site and the worker."]


def _put_signing_key(backup: Path, manifest: dict) -> list[str]:
    """Bring back the key that signs checkpoints; sentences on what is left to do."""
    about, target = manifest["signing_key"], installation.signing_key_file()
    if not about["id"] or about["id"] == _signing_key_id():
        return []
    if about["kept"] and target is not None:
        disk.write_whole(target, [(backup / SIGNING_KEY).read_bytes()])
        return []
    place = f"It is kept in {backup / SIGNING_KEY}. " if about["kept"] else ""
    return [
        f"The key that signs checkpoints is another one here. {place}Without it they are signed "
        "with a new key, and the About page shows the change."
    ]


def _signing_key_id() -> str:
    try:
        return installation.signing_key_id()
    except BadKey:
        return ""


def _say_in_the_store(manifest: dict) -> None:
    """Photos that waited on the old machine lie in the store now, unless the back-up lacks them."""
    absent = {one["sha256"] for one in manifest["missing"]}
    for row in SpooledOriginal.objects.all():
        if row.original_id not in absent:
            row.delete()


def _make_sizes_again() -> None:
    """The worker makes sizes that are not in the store; until then a page makes what it shows."""
    there = {name.rsplit("/", 1)[-1] for name in store.walk("sizes")}
    gone = []
    for digest in Original.objects.filter(deleted_at=None).values_list("pk", flat=True).iterator():
        if not {sizes.size_name(digest, size).rsplit("/", 1)[-1] for size in sizes.SIZES} <= there:
            gone.append(digest)
        if len(gone) == 500:
            _forget_sizes(gone)
            gone = []
    _forget_sizes(gone)


def _forget_sizes(digests: list[str]) -> None:
    Original.objects.filter(pk__in=digests).update(sizes_made_at=None, sizes_error="")

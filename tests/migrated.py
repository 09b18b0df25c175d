"""A SQLite database with today's tables and nothing in them, to copy and to go back to.

Running every migration takes seconds of a core, and most tests that need a database of their own
are about something else. It is made once, by `manage.py migrate`, and kept in pytest's cache under
a name that tells what it was made from: other code or other packages make another one.
"""

import fcntl
import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from functools import cache
from importlib.metadata import distributions
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
KEPT = PROJECT / ".pytest_cache" / "migrated"
NEWEST = 3  # of the databases kept; a branch that is gone back to finds its own


def copy_to(target: Path) -> None:
    """Put a migrated database there."""
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(database(), target)


def put_back(connection) -> None:
    """Make the database behind a Django connection, outside a transaction, what it was as a copy.

    What `flush` does takes fifty times as long: it empties table by table, takes the triggers off
    and puts them back, and writes the permissions anew.
    """
    connection.ensure_connection()
    with closing(sqlite3.connect(f"{database().as_uri()}?mode=ro", uri=True)) as source:
        source.backup(connection.connection)


@cache
def database() -> Path:
    """The file to copy. Made under a lock, as many workers may ask at once."""
    KEPT.mkdir(parents=True, exist_ok=True)
    path = KEPT / name_of(PROJECT)
    with (KEPT / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not path.exists():
            _make(path)
    return path


def name_of(project: Path) -> str:
    """The name of its file: a digest of the product's code and of what is installed."""
    digest = hashlib.sha256()
    for folder in ("readiness", "portal"):
        for source in sorted((project / folder).rglob("*.py")):
            digest.update(f"{source.relative_to(project)}\0".encode() + source.read_bytes())
    installed = {f"{one.metadata['Name']} {one.version}" for one in distributions()}
    digest.update("\n".join([sys.version, sqlite3.sqlite_version, *sorted(installed)]).encode())
    return f"{digest.hexdigest()[:24]}.sqlite3"


def _make(path: Path) -> None:
    with tempfile.TemporaryDirectory(dir=KEPT) as folder:
        environment = {
            **{name: value for name, value in os.environ.items() if name != "DATABASE_URL"},
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "READINESS_DEMO": "1",
            "READINESS_DATA": folder,
        }
        command = [sys.executable, "manage.py", "migrate", "-v0"]
        subprocess.run(command, cwd=PROJECT, env=environment, check=True)
        made = Path(folder) / "db.sqlite3"
        with closing(sqlite3.connect(made)) as connection:
            # One file, without what is still in the log beside it.
            connection.execute("PRAGMA journal_mode = DELETE")
        made.rename(path)
    kept = sorted(KEPT.glob("*.sqlite3"), key=lambda one: one.stat().st_mtime)
    for old in kept[:-NEWEST]:
        old.unlink()

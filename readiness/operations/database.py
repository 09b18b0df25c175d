"""A copy of the whole database at one moment, while people go on working, and back again."""

import os
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.db import DatabaseError, connection, connections, transaction

from readiness.operations import Trouble, disk

PAGES_A_STEP = 1000
PAUSE_SECONDS = 0.005
"""After each step of 4 MB, so that a copy leaves the disk to those who work."""

DUMP_NAMES = {"sqlite": "database.sqlite3", "postgresql": "database.pgdump"}
DEBIAN_PROGRAMS = Path("/usr/lib/postgresql")
TRIGGER_FUNCTIONS = """
SELECT p.oid::regprocedure::text FROM pg_proc p
WHERE p.pronamespace = current_schema()::regnamespace AND p.prorettype = 'trigger'::regtype
AND NOT EXISTS (SELECT 1 FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e')
"""
PG_CLIENT = "postgresql-client"


@dataclass(frozen=True)
class Snapshot:
    """The copy's file, and `rows(sql)`: what the copy holds, read from the same moment."""

    path: Path
    rows: Callable[[str], Iterable[tuple]]


@contextmanager
def snapshot(folder: Path) -> Iterator[Snapshot]:
    """Copy the database into `folder`. Raises ``Trouble``."""
    make = {"sqlite": _sqlite_snapshot, "postgresql": _postgresql_snapshot}.get(connection.vendor)
    if make is None:
        raise Trouble(f"There is no back-up for databases of the kind {connection.vendor}.")
    with make(folder / DUMP_NAMES[connection.vendor]) as taken:
        yield taken
    disk.flush(taken.path)


@contextmanager
def _sqlite_snapshot(target: Path) -> Iterator[Snapshot]:
    source_name = str(connection.settings_dict["NAME"])
    with (
        closing(sqlite3.connect(source_name, timeout=20, isolation_level=None)) as source,
        closing(sqlite3.connect(target, isolation_level=None)) as copy,
    ):
        os.chmod(target, 0o600)
        try:
            # An open read transaction holds the moment: writers go on, and the copy need not start
            # over at each of their commits, as it otherwise would.
            source.execute("BEGIN")
            source.execute("SELECT count(*) FROM sqlite_master").fetchone()
            source.backup(copy, pages=PAGES_A_STEP, sleep=PAUSE_SECONDS)
            source.execute("ROLLBACK")
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, with nothing beside it
            sound = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
        except sqlite3.Error as error:
            raise Trouble(f"The database {source_name} can't be copied: {error}.") from error
        if sound != "ok":
            raise Trouble(f"The database {source_name} is damaged: {sound}.")
        yield Snapshot(target, copy.execute)


@contextmanager
def _postgresql_snapshot(target: Path) -> Iterator[Snapshot]:
    program = postgresql_program("pg_dump")
    with transaction.atomic():
        with connection.cursor() as cursor:
            # pg_dump and our own reading see the same moment.
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            cursor.execute("SELECT pg_export_snapshot()")
            (moment,) = cursor.fetchone()
        command = [program, "--format=custom", "--no-owner", "--no-privileges"]
        _run_client([*command, f"--snapshot={moment}", f"--file={target}"])
        _run_client([postgresql_program("pg_restore"), "--list", str(target)])
        os.chmod(target, 0o600)
        yield Snapshot(target, _rows)


def _rows(sql: str) -> Iterator[tuple]:
    """Rows of the transaction's moment, fetched as they are read."""
    with connection.chunked_cursor() as cursor:
        cursor.execute(sql)
        while some := cursor.fetchmany(2000):
            yield from some


def postgresql_program(name: str) -> str:
    """The path of pg_dump or pg_restore, not older than the server. Raises ``Trouble``."""
    server = connection.get_database_version()[0]
    found = [shutil.which(name), *DEBIAN_PROGRAMS.glob(f"*/bin/{name}")]
    versions = {_major_version(str(path)): str(path) for path in reversed(found) if path}
    fitting = sorted(version for version in versions if version >= server)
    if fitting:
        return versions[fitting[0]]
    package = f"{PG_CLIENT}-{server}"
    if versions:
        raise Trouble(
            f"{name} {max(versions)} is older than the server, which is PostgreSQL {server}: "
            f"apt install {package} (from PostgreSQL's own packages if Debian has none)."
        )
    raise Trouble(f"{name} is not installed: apt install {PG_CLIENT} (or {package}).")


def _major_version(program: str) -> int:
    said = subprocess.run([program, "--version"], capture_output=True, text=True, check=False)
    number = re.search(r"(\d+)(\.\d+)?", said.stdout)
    return int(number[1]) if number else 0


def _run_client(command: list[str]) -> None:
    """Run a program of PostgreSQL's on our database; passwords go by the environment."""
    settings = connection.settings_dict
    _, extra = connection.client.settings_to_cmd_args_env(settings, [])
    place = {"PGDATABASE": "NAME", "PGUSER": "USER", "PGHOST": "HOST", "PGPORT": "PORT"}
    named = {variable: str(settings[key]) for variable, key in place.items() if settings[key]}
    environment = {**os.environ, **named, **(extra or {})}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        lines = done.stderr.strip().splitlines() or [f"exit status {done.returncode}"]
        raise Trouble(f"{Path(command[0]).name} failed: {lines[0]}")


# Bringing it back


def load(dump: Path) -> None:
    """Put a copy in the place of our database, which must be empty. Raises ``Trouble``."""
    {"sqlite": _load_sqlite, "postgresql": _load_postgresql}[connection.vendor](dump)


def _load_sqlite(dump: Path) -> None:
    target = Path(connection.settings_dict["NAME"])
    connections.close_all()
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = target.with_name(f"{target.name}.restoring")
    with dump.open("rb") as stream:
        disk.write_whole(beside, disk.chunks_of(stream), mode=0o640)
    for ending in ("-wal", "-shm"):  # of the empty one: they must not be read into this one
        target.with_name(target.name + ending).unlink(missing_ok=True)
    os.replace(beside, target)
    disk.flush(target.parent)


def _load_postgresql(dump: Path) -> None:
    name = connection.settings_dict["NAME"]
    program = postgresql_program("pg_restore")
    _drop_empty_tables()
    connections.close_all()
    options = ["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction"]
    _run_client([program, *options, f"--dbname={name}", str(dump)])


def _drop_empty_tables() -> None:
    """Those of a database that was migrated and never used; the dump brings its own triggers."""
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"DROP TABLE {quote(table)} CASCADE")
        cursor.execute(TRIGGER_FUNCTIONS)
        for (function,) in cursor.fetchall():
            cursor.execute(f"DROP FUNCTION {function}")


def row_counts(rows: Callable[[str], Iterable[tuple]], tables: Iterable[str]) -> dict[str, int]:
    """The number of rows of each table."""
    quote = connection.ops.quote_name
    return {table: next(iter(rows(f"SELECT count(*) FROM {quote(table)}")))[0] for table in tables}  # noqa: S608


def live_rows(sql: str) -> list[tuple]:
    """Rows of our database as it is now."""
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()


def tables_here() -> list[str]:
    """The names of the tables of our database. Raises ``Trouble`` where it does not answer."""
    try:
        return connection.introspection.table_names()
    except DatabaseError as error:
        raise Trouble(f"The database does not answer: {error}") from error

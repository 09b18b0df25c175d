"""A database of the kind that the tests use, in place of the tests' own for a while.

Upgrades change the schema itself, which the tests' own database must not see.
"""

import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.db import connections


@contextmanager
def scratch_database(folder: Path, *, migrated: bool = False) -> Iterator[str]:
    """Lead the default connection to another database; gives its name, or path with SQLite.

    It is empty, or has today's tables (those of the tests' own database).
    """
    connection = connections["default"]
    kept = connection.settings_dict["NAME"]
    is_file = connection.vendor == "sqlite"
    name = f"upgrade_{secrets.token_hex(6)}"
    used = str(folder / f"{name}.sqlite3") if is_file else name
    connection.close()
    if not is_file:
        template = f'TEMPLATE "{kept}"' if migrated else ""
        _outside(connection, f'CREATE DATABASE "{name}" {template}')
    elif migrated:
        _copy(kept, used)
    connection.settings_dict["NAME"] = used
    try:
        yield used
    finally:
        connection.close()
        connection.settings_dict["NAME"] = kept
        if not is_file:
            _outside(connection, f'DROP DATABASE "{name}" WITH (FORCE)')


def made_once(kept: Path, make: Callable[[], object]) -> None:
    """Do to the scratch database what `make` does; on SQLite it is copied from the second time on.

    `kept` is the file that the first time leaves, of the same database before and the same `make`.
    """
    connection = connections["default"]
    if connection.vendor != "sqlite":
        make()
    elif kept.exists():
        connection.close()
        _copy(kept, connection.settings_dict["NAME"])
    else:
        make()
        connection.close()
        _copy(connection.settings_dict["NAME"], kept)


def _outside(connection, statement: str) -> None:
    with connection._nodb_cursor() as cursor:
        cursor.execute(statement)


def _copy(path, target) -> None:
    with closing(sqlite3.connect(path)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)

"""An empty database of the kind that the tests use, in place of the tests' own for a while.

Upgrades change the schema itself, which the tests' own database must not see.
"""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connections


@contextmanager
def scratch_database(folder: Path) -> Iterator[str]:
    """Lead the default connection to an empty database; gives its name, or path with SQLite."""
    connection = connections["default"]
    kept = connection.settings_dict["NAME"]
    is_file = connection.vendor == "sqlite"
    name = f"upgrade_{secrets.token_hex(6)}"
    used = str(folder / f"{name}.sqlite3") if is_file else name
    if not is_file:
        _outside(connection, f'CREATE DATABASE "{name}"')
    connection.close()
    connection.settings_dict["NAME"] = used
    try:
        yield used
    finally:
        connection.close()
        connection.settings_dict["NAME"] = kept
        if not is_file:
            _outside(connection, f'DROP DATABASE "{name}" WITH (FORCE)')


def _outside(connection, statement: str) -> None:
    with connection._nodb_cursor() as cursor:
        cursor.execute(statement)

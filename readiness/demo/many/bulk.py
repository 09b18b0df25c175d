"""Writing rows as fast as each database takes them."""

import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.db import DatabaseError, connection, models, transaction

from readiness.models import freeze

Row = Sequence[Any]


class Writer:
    """Inserts rows given as tuples: COPY on PostgreSQL, many at once on SQLite.

    Columns that are not given get the model's default. Values are not checked here; the database's
    own checks hold.
    """

    def __init__(self, model: type[models.Model], columns: Sequence[str]):
        fields = {field.attname: field for field in model._meta.concrete_fields}
        rest = [field for name, field in fields.items() if name not in columns]
        constants = [(field, field.get_default()) for field in rest if not field.primary_key]
        constants = [(field, value) for field, value in constants if value is not None]
        self.table = model._meta.db_table
        self.columns = [fields[name].column for name in columns]
        self.columns += [field.column for field, _ in constants]
        self.constants = tuple(_plain(value) for _, value in constants)

    def write(self, rows: Iterable[Row]) -> None:
        full = (self._full(row) for row in rows)
        quoted = ", ".join(connection.ops.quote_name(column) for column in self.columns)
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                with cursor.copy(f"COPY {self.table} ({quoted}) FROM STDIN") as copy:
                    for row in full:
                        copy.write_row(row)
                return
            marks = ", ".join("?" for _ in self.columns)
            sql = f"INSERT INTO {self.table} ({quoted}) VALUES ({marks})"  # noqa: S608
            cursor.cursor.connection.executemany(
                sql, (tuple(map(_for_sqlite, row)) for row in full)
            )

    def _full(self, row: Row) -> tuple:
        return (*row, *self.constants)


def _plain(value):
    return json.dumps(value) if isinstance(value, dict | list) else value


def _for_sqlite(value):
    if isinstance(value, UUID):
        return value.hex
    if isinstance(value, datetime):
        return str(value.astimezone(UTC).replace(tzinfo=None))
    return value


@contextmanager
def unguarded(tables: Iterable[str]) -> Iterator[Callable[[], None]]:
    """Without the triggers and, on PostgreSQL, without indexes; all are back at the end.

    Yields what each connection that writes has to call first.
    """
    _run(freeze.drop_statements(connection.vendor))
    rebuild = _drop_indexes(tables) if connection.vendor == "postgresql" else []
    try:
        yield _without_foreign_keys
    finally:
        _run(rebuild)
        freeze.install()


def _without_foreign_keys() -> None:
    """The rows fit together by construction; only a superuser may skip the checks."""
    if connection.vendor != "postgresql":
        return
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET session_replication_role = replica")
    except DatabaseError:
        return  # checked row by row then


INDEXES = """
SELECT i.relname, pg_get_indexdef(x.indexrelid), c.conname, pg_get_constraintdef(c.oid), t.relname
FROM pg_index x
JOIN pg_class i ON i.oid = x.indexrelid
JOIN pg_class t ON t.oid = x.indrelid
LEFT JOIN pg_constraint c ON c.conindid = x.indexrelid AND c.contype IN ('u', 'p', 'x')
WHERE t.relname = ANY(%s) AND NOT x.indisprimary
AND NOT EXISTS (SELECT 1 FROM pg_constraint f WHERE f.contype = 'f' AND f.conindid = x.indexrelid)
"""


def _drop_indexes(tables: Iterable[str]) -> list[str]:
    """Drop all but the primary keys; returns the SQL that makes them again."""
    with connection.cursor() as cursor:
        cursor.execute(INDEXES, [list(tables)])
        found = cursor.fetchall()
    rebuild = []
    for index, definition, constraint, clause, table in found:
        if constraint:
            _run([f'ALTER TABLE {table} DROP CONSTRAINT "{constraint}"'])
            rebuild.append(f'ALTER TABLE {table} ADD CONSTRAINT "{constraint}" {clause}')
        else:
            _run([f'DROP INDEX "{index}"'])
            rebuild.append(re.sub(r" ON \w+\.", " ON ", definition))
    return rebuild


def _run(statements: Iterable[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)

"""What another program than the portal is refused: `sqlite3`, without our PRAGMA."""

import sqlite3
import uuid
from contextlib import closing

import pytest
from django.db import connection, models

from readiness.models import Commitment, freeze
from tests.evidence.frozen_rows import WORDS, Row, rows

__all__ = ["rows"]

pytestmark = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="This is not SQLite.")


@pytest.fixture
def as_another(transactional_db, rows):
    """The tests' own database, opened as `sqlite3` opens it."""
    with closing(sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)) as other:
        other.row_factory = sqlite3.Row
        assert other.execute("PRAGMA recursive_triggers").fetchone()[0] == 0
        yield other


def plainly_refused(other, sql: str, values=()) -> bool:
    other.execute("BEGIN")
    try:
        other.execute(sql, values)
    except sqlite3.IntegrityError as error:
        return any(words in str(error) for words in WORDS)
    finally:
        if other.in_transaction:
            other.execute("ROLLBACK")
    return False


def stored(other, row: Row) -> dict:
    """The row as SQLite has it."""
    key = row.row._meta.pk
    value = key.get_db_prep_value(row.row.pk, connection)
    sql = f'SELECT * FROM {row.row._meta.db_table} WHERE "{key.column}" = ?'
    return dict(other.execute(sql, [value]).fetchone())


def is_rowid(column: models.Field) -> bool:
    """Whether it is SQLite's own number of the row, by another name."""
    return column.primary_key and column.db_type(connection) == "integer"


def unlike(column: models.Field, value: str) -> str | int:
    """SQLite takes any value in any column, but for its own number of a row."""
    return 10_000 if is_rowid(column) else value


def test_another_program_is_refused_the_same(rows, as_another):
    wrong = []
    for row in rows:
        table, key = row.row._meta.db_table, row.row._meta.pk.column
        now = stored(as_another, row)
        for column in row.columns:
            value = unlike(column, "z" if now[column.column] != "z" else "y")
            sql = f'UPDATE {table} SET "{column.column}" = ? WHERE "{key}" = ?'
            if plainly_refused(as_another, sql, [value, now[key]]) == row.may_change(
                column.attname
            ):
                wrong.append(f"{row.called}: {column.attname}")
        sql = f'DELETE FROM {table} WHERE "{key}" = ?'
        if plainly_refused(as_another, sql, [now[key]]) == row.goes:
            wrong.append(f"{row.called}: DELETE")
    assert wrong == []


def put(other, row: Row, values: dict) -> bool:
    columns = ", ".join(f'"{name}"' for name in values)
    places = ", ".join("?" * len(values))
    sql = f"INSERT OR REPLACE INTO {row.row._meta.db_table} ({columns}) VALUES ({places})"
    return plainly_refused(other, sql, list(values.values()))


def places_of(row: Row) -> list[tuple[str, ...]]:
    """The columns of each index that has one row a value, and that the row stands in."""
    model = type(row.row)
    single = [(column.column,) for column in row.columns if column.unique]
    several = [
        tuple(model._meta.get_field(name).column for name in one.fields)
        for one in model._meta.total_unique_constraints
    ]
    return [*single, *several]


def test_replace_puts_nothing_in_the_place_of_what_is_kept(rows, as_another):
    """By its key, by another place that is its own, and by SQLite's own number of the row."""
    wrong = []
    for row in rows:
        now = stored(as_another, row)
        other = now | {
            column.column: unlike(column, f"other {number}")
            for number, column in enumerate(row.columns)
            if column.unique
        }
        if isinstance(row.row, Commitment):
            other["site_id"] = uuid.uuid4().hex
        for place in places_of(row):
            if any(now[name] is None for name in place):
                continue
            values = other | {name: now[name] for name in place}
            if not put(as_another, row, values):
                wrong.append(f"{row.called}: {place}")
        table, key = row.row._meta.db_table, row.row._meta.pk.column
        (number,) = as_another.execute(
            f'SELECT rowid FROM {table} WHERE "{key}" = ?', [now[key]]
        ).fetchone()
        values = {"rowid": number, **other}
        if is_rowid(row.row._meta.pk):
            del values[key]
        if not put(as_another, row, values):
            wrong.append(f"{row.called}: rowid")
    assert wrong == []


@pytest.mark.long
def test_replace_takes_no_place_that_only_some_rows_have(rows, as_another):
    """One open fix an item, one open booking a site, one report that counts: not by REPLACE."""
    by_name = {row.called: row for row in rows}
    for name, changed in {
        "business's entry": {"id": 10_000, "digest": "e" * 64},
        "open fix": {"id": uuid.uuid4().hex},
        "booking": {"id": uuid.uuid4().hex},
        "issued report": {"id": uuid.uuid4().hex, "number": 99},
        "draft report": {"id": uuid.uuid4().hex},
    }.items():
        assert put(as_another, by_name[name], stored(as_another, by_name[name]) | changed), name


@pytest.mark.long
def test_an_update_that_replaces_is_refused_too(rows, as_another):
    by_name = {row.called: row for row in rows}
    made, waiting = by_name["made paper"], by_name["paper to make"]
    for column in ("id", "subject"):
        sql = f"UPDATE OR REPLACE readiness_paper SET {column} = ? WHERE id = ?"
        values = [stored(as_another, made)[column], stored(as_another, waiting)["id"]]
        assert plainly_refused(as_another, sql, values), column
    (number,) = as_another.execute(
        "SELECT rowid FROM readiness_paper WHERE id = ?", [stored(as_another, made)["id"]]
    ).fetchone()
    sql = "UPDATE OR REPLACE readiness_paper SET rowid = ? WHERE id = ?"
    assert plainly_refused(as_another, sql, [number, stored(as_another, waiting)["id"]])


@pytest.mark.long
def test_each_place_of_the_models_is_guarded(rows):
    """A unique column or constraint that is added to a model goes into the rules too."""
    for row in rows:
        subject = next(
            name for name, table in freeze.TABLES.items() if table == row.row._meta.db_table
        )
        model = type(row.row)
        guarded = {place.columns for place in freeze.PLACES[subject]}
        constrained = {
            tuple(model._meta.get_field(name).column for name in one.fields)
            for one in model._meta.constraints
            if isinstance(one, models.UniqueConstraint)
        }
        alone = {(column.column,) for column in row.columns if column.unique}
        assert constrained | alone <= guarded, subject


def test_the_portals_own_connections_fire_triggers_on_replace(db):
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA recursive_triggers")
        assert cursor.fetchone() == (1,)

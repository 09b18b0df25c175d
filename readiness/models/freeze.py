"""The triggers that keep the Record, issued reports and other evidence as they are (`frozen.py`).

They hold for every program that writes to the database, not only for ours. They are off
only inside a transaction that puts them back before it ends: where it fails or is killed, the
database takes back all of it, and they were never gone. `migrate` takes them off for the
transaction of each migration (SQLite can't rebuild a table that a trigger names), `flush` for its
own.
"""

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import connections, transaction
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from .frozen import PLACES, RULES, TABLES, TAKEN, Rule, Unique


@dataclass(frozen=True)
class Trigger:
    """One of the database's triggers; each check is a condition and what is then said."""

    name: str
    table: str
    event: str
    checks: tuple[tuple[str, str], ...]


Tables = Mapping[str, Collection[str]]
"""The columns of each table that is there."""
EVERY_TABLE: Tables = dict.fromkeys(TABLES.values(), ())


def _triggers(vendor: str, there: Tables) -> list[Trigger]:
    found = []
    for subject, table in TABLES.items():
        for event in EVENTS.get(vendor, ()) if table in there else ():
            checks = [*_checks(vendor, subject, event, there[table])]
            if checks:
                name = f"{subject}_no_{event.lower()}"
                found.append(Trigger(name, table, event, tuple(checks)))
    return found


EVENTS = {
    "sqlite": ("INSERT", "UPDATE", "DELETE"),
    "postgresql": ("INSERT", "UPDATE", "DELETE", "TRUNCATE"),
}


def _checks(
    vendor: str, subject: str, event: str, there: Collection[str]
) -> Iterator[tuple[str, str]]:
    rules = [rule for rule in RULES if rule.subject == subject]
    for rule in rules:
        if rule.event == event:
            yield _condition(vendor, rule, there), rule.message
    if event == "TRUNCATE":
        yield "TRUE", rules[0].message
    if vendor == "sqlite" and event in ("INSERT", "UPDATE"):
        for place in (*PLACES[subject], Unique(("rowid",))):
            yield _is_taken(TABLES[subject], event, place), TAKEN


def _condition(vendor: str, rule: Rule, there: Collection[str]) -> str:
    differ = {"sqlite": "IS NOT", "postgresql": "IS DISTINCT FROM"}[vendor]
    parts = [f"({rule.when})"] if rule.when else []
    if rule.columns:
        columns = rule.columns.of(there)
        changed = " OR ".join(f'OLD."{name}" {differ} NEW."{name}"' for name in columns)
        parts.append(f"({changed or 'FALSE'})")
    return " AND ".join(parts) or "TRUE"


def _is_taken(table: str, event: str, place: Unique) -> str:
    """Whether another row has the place; SQLite only. Each is looked up in an index of its own."""
    same = [f"o.{name} = NEW.{name}" for name in place.columns]
    where = [*same, *filter(None, [place.when])]
    if event == "UPDATE":
        where.append("o.rowid <> OLD.rowid")
    return f"EXISTS (SELECT 1 FROM {table} o WHERE {' AND '.join(where)})"  # noqa: S608


def drop_statements(vendor: str) -> list[str]:
    """The SQL that takes the triggers away, where they are there."""
    every = _triggers(vendor, EVERY_TABLE)
    on = {"sqlite": "", "postgresql": " ON {}"}.get(vendor, "")
    return [f"DROP TRIGGER IF EXISTS {one.name}{on.format(one.table)}" for one in every]


def _sqlite(trigger: Trigger) -> list[str]:
    checks = " ".join(
        f"SELECT RAISE(ABORT, '{message}') WHERE {condition};"
        for condition, message in trigger.checks
    )
    return [
        f"CREATE TRIGGER {trigger.name} BEFORE {trigger.event} ON {trigger.table} FOR EACH ROW "
        f"BEGIN {checks} END"
    ]


def _postgresql(trigger: Trigger, schema: str) -> list[str]:
    """The function looks tables up in our schema first: nobody's temporary table stands in."""
    checks = " ".join(
        f"IF {condition} THEN RAISE EXCEPTION '{message}' "
        "USING ERRCODE = 'integrity_constraint_violation'; END IF;"
        for condition, message in trigger.checks
    )
    result = "OLD" if trigger.event == "DELETE" else "NEW"
    each = "STATEMENT" if trigger.event == "TRUNCATE" else "ROW"
    return [
        f"CREATE OR REPLACE FUNCTION {trigger.name}() RETURNS trigger LANGUAGE plpgsql "
        f"SET search_path = {schema}, pg_temp AS $$ BEGIN {checks} RETURN {result}; END $$",
        f"CREATE TRIGGER {trigger.name} BEFORE {trigger.event} ON {trigger.table} "
        f"FOR EACH {each} EXECUTE FUNCTION {trigger.name}()",
    ]


def install(using: str = "default", **_) -> None:
    """Put the triggers in place, anew; runs after every `migrate`."""
    connection = connections[using]
    if connection.vendor in EVENTS:
        with transaction.atomic(using):
            _run(connection, drop_statements(connection.vendor))
            _run(connection, _fitting(connection))


def missing(using: str = "default") -> list[str]:
    """The names of the triggers that should be in place and are not."""
    connection = connections[using]
    if connection.vendor not in EVENTS:
        return []
    there = _present(connection)
    wanted = _triggers(connection.vendor, _tables(connection))
    return [one.name for one in wanted if one.name not in there]


@contextmanager
def without_triggers(using: str = "default") -> Iterator[None]:
    """One transaction without the triggers; they are back before it ends, however it ends."""
    connection = connections[using]
    with transaction.atomic(using):
        if connection.vendor == "postgresql":
            connection.check_constraints()  # a table with checks that wait can't lose a trigger
        _run(connection, drop_statements(connection.vendor))
        yield
        install(using)


@contextmanager
def without_triggers_in_migrations(using: str = "default") -> Iterator[None]:
    """Run migrations in here: the triggers are off in each one's transaction, and only there."""
    connection = connections[using]
    plain = connection.SchemaEditorClass
    connection.SchemaEditorClass = type("ThawingEditor", (_Thawing, plain), {})
    try:
        yield
    finally:
        del connection.SchemaEditorClass  # the class's own shows again


class _Thawing(BaseDatabaseSchemaEditor):
    """Mixed into a database's own schema editor, which each migration runs in."""

    def __enter__(self):
        editor = super().__enter__()
        self._off = bool(_present(self.connection))
        if self._off:
            _run(self.connection, drop_statements(self.connection.vendor))
        return editor

    def __exit__(self, kind, error, traceback):
        if self._off and kind is None:
            self.deferred_sql.extend(drop_statements(self.connection.vendor))
            self.deferred_sql.extend(_fitting(self.connection))
        try:
            super().__exit__(kind, error, traceback)
        finally:
            if self._off and not self.atomic_migration and kind is not None:
                _run(self.connection, _fitting(self.connection))


PRESENT = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D' "
    "AND pg_table_is_visible(tgrelid)",
}


def _present(connection) -> set[str]:
    """Names of those of our triggers that the database has."""
    ours = {one.name for one in _triggers(connection.vendor, EVERY_TABLE)}
    with connection.cursor() as cursor:
        cursor.execute(PRESENT[connection.vendor])
        return {name for (name,) in cursor.fetchall()} & ours


def _tables(connection) -> Tables:
    """The tables of ours that are there, as they are.

    After `migrate` back to an earlier state some columns, or tables, are not.
    """
    with connection.cursor() as cursor:
        known = set(connection.introspection.table_names(cursor))
        return {
            table: [
                column.name
                for column in connection.introspection.get_table_description(cursor, table)
            ]
            for table in TABLES.values()
            if table in known
        }


def _fitting(connection) -> list[str]:
    """The SQL that puts the triggers in place on the tables as they are."""
    triggers = _triggers(connection.vendor, _tables(connection))
    if connection.vendor == "sqlite":
        return [statement for one in triggers for statement in _sqlite(one)]
    with connection.cursor() as cursor:
        cursor.execute("SELECT quote_ident(current_schema())")
        (schema,) = cursor.fetchone()
    return [statement for one in triggers for statement in _postgresql(one, schema)]


def _run(connection, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)

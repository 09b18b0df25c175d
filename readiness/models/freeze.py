"""What the database itself refuses: changing an issued report, or the Record.

The triggers hold for every program that writes to the database, not only for ours. They are off
only inside a transaction that puts them back before it ends: where it fails or is killed, the
database takes back all of it, and they were never gone. `migrate` takes them off for the
transaction of each migration (SQLite can't rebuild a table that a trigger names), `flush` for its
own.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connections, transaction
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

REPORT_FROZEN = (
    "site_id", "number", "visited_on", "treatment_wanted_on", "weather", "notes", "created_at",
    "issued_at", "supersedes_id", "rule_values", "snapshot", "digest",
)  # fmt: skip
ITEM_FROZEN = (
    "report_id", "number", "wall_run_id", "kind", "from_mm", "to_mm", "measured_value",
    "measured_from", "measured_uncertainty", "note", "required_fix", "trade", "effect", "due_on",
    "carried_from_id", "created_at",
)  # fmt: skip
CHECK_FROZEN = ("report_id", "wall_run_id", "checked_at", "note")

APPEND_ONLY = "The Record is append-only."
FROZEN = "An issued report never changes."

ISSUED = "OLD.issued_at IS NOT NULL"
OLD_REPORT_ISSUED = (
    "EXISTS (SELECT 1 FROM readiness_sitereport r "
    "WHERE r.id = OLD.report_id AND r.issued_at IS NOT NULL)"
)
NEW_REPORT_ISSUED = OLD_REPORT_ISSUED.replace("OLD.", "NEW.")

# (name, table, event, columns that may not change (all of them when empty), condition, message)
RULES = (
    ("record_no_update", "readiness_recordentry", "UPDATE", (), "", APPEND_ONLY),
    ("record_no_delete", "readiness_recordentry", "DELETE", (), "", APPEND_ONLY),
    ("report_no_update", "readiness_sitereport", "UPDATE", REPORT_FROZEN, ISSUED, FROZEN),
    ("report_no_delete", "readiness_sitereport", "DELETE", (), ISSUED, FROZEN),
    ("item_no_insert", "readiness_defectitem", "INSERT", (), NEW_REPORT_ISSUED, FROZEN),
    ("item_no_update", "readiness_defectitem", "UPDATE", ITEM_FROZEN, OLD_REPORT_ISSUED, FROZEN),
    ("item_no_delete", "readiness_defectitem", "DELETE", (), OLD_REPORT_ISSUED, FROZEN),
    ("check_no_insert", "readiness_runcheck", "INSERT", (), NEW_REPORT_ISSUED, FROZEN),
    ("check_no_update", "readiness_runcheck", "UPDATE", CHECK_FROZEN, OLD_REPORT_ISSUED, FROZEN),
    ("check_no_delete", "readiness_runcheck", "DELETE", (), OLD_REPORT_ISSUED, FROZEN),
)


def create_statements(vendor: str) -> list[str]:
    """The SQL that puts the triggers in place; empty for a database without them."""
    return _statements(vendor, RULES)


def drop_statements(vendor: str) -> list[str]:
    """The SQL that takes the triggers away, where they are there."""
    if vendor == "sqlite":
        return [f"DROP TRIGGER IF EXISTS {name}" for name, *_ in RULES]
    if vendor == "postgresql":
        return [f"DROP TRIGGER IF EXISTS {name} ON {table}" for name, table, *_ in RULES]
    return []


def _statements(vendor: str, rules) -> list[str]:
    make = {"sqlite": _sqlite, "postgresql": _postgresql}.get(vendor)
    return [statement for rule in rules for statement in make(*rule)] if make else []


def _sqlite(name, table, event, columns, condition, message) -> list[str]:
    changed = " OR ".join(f"OLD.{column} IS NOT NEW.{column}" for column in columns)
    tests = [f"({part})" for part in (condition, changed) if part]
    when = f"WHEN {' AND '.join(tests)} " if tests else ""
    return [
        f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW {when}"
        f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    ]


def _postgresql(name, table, event, columns, condition, message) -> list[str]:
    changed = " OR ".join(f"OLD.{column} IS DISTINCT FROM NEW.{column}" for column in columns)
    tests = [f"({part})" for part in (condition, changed) if part] or ["TRUE"]
    result = "OLD" if event == "DELETE" else "NEW"
    return [
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {' AND '.join(tests)} THEN RAISE EXCEPTION '{message}' "
        f"USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN {result}; END $$",
        f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()",
    ]


def install(using: str = "default", **_) -> None:
    """Put the triggers in place, anew; runs after every `migrate`."""
    connection = connections[using]
    if _has_tables(connection):
        with transaction.atomic(using):
            _run(connection, drop_statements(connection.vendor))
            _run(connection, _fitting(connection))


def missing(using: str = "default") -> list[str]:
    """The names of the triggers that should be in place and are not."""
    connection = connections[using]
    if connection.vendor not in PRESENT or not _has_tables(connection):
        return []
    there = _present(connection)
    return [name for name, *_ in RULES if name not in there]


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
def thawed_in_migrations(using: str = "default") -> Iterator[None]:
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
    """Names of the triggers of the database, ours and others."""
    with connection.cursor() as cursor:
        cursor.execute(PRESENT[connection.vendor])
        return {name for (name,) in cursor.fetchall()} & {name for name, *_ in RULES}


def _has_tables(connection) -> bool:
    return {rule[1] for rule in RULES} <= set(connection.introspection.table_names())


def _fitting(connection) -> list[str]:
    """The SQL that puts the triggers in place on the tables as they are.

    After `migrate` back to an earlier state a column may not be there; the others are held.
    """
    if not _has_tables(connection):
        return []
    with connection.cursor() as cursor:
        there = {
            table: {
                column.name
                for column in connection.introspection.get_table_description(cursor, table)
            }
            for table in {rule[1] for rule in RULES}
        }
    fitting = [
        (name, table, event, tuple(c for c in columns if c in there[table]), condition, message)
        for name, table, event, columns, condition, message in RULES
    ]
    return _statements(connection.vendor, fitting)


def _run(connection, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)

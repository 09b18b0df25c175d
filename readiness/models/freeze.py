"""What the database itself refuses: changing an issued report, or the Record.

Triggers are put in place after every migration (SQLite loses a table's triggers when a migration
alters the table). They hold for every program that writes to the database, not only for ours.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connections

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
    make = {"sqlite": _sqlite, "postgresql": _postgresql}.get(vendor)
    return [statement for rule in RULES for statement in make(*rule)] if make else []


def drop_statements(vendor: str) -> list[str]:
    """The SQL that takes the triggers away, where they are there."""
    if vendor == "sqlite":
        return [f"DROP TRIGGER IF EXISTS {name}" for name, *_ in RULES]
    if vendor == "postgresql":
        return [f"DROP TRIGGER IF EXISTS {name} ON {table}" for name, table, *_ in RULES]
    return []


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
    """Put the triggers in place, anew; runs after every migration."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    if not {rule[1] for rule in RULES} <= tables:
        return
    _run(connection, drop_statements(connection.vendor) + create_statements(connection.vendor))


@contextmanager
def thawed(using: str = "default") -> Iterator[None]:
    """Without the triggers, for benchmarks that make rows by the hundred thousand."""
    connection = connections[using]
    _run(connection, drop_statements(connection.vendor))
    try:
        yield
    finally:
        install(using)


def _run(connection, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)

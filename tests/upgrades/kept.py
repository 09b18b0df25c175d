"""What each earlier version left behind, brought to life: `make_fixture.py` made `fixtures/`."""

import json
import sqlite3
import tarfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.models import DateTimeField, JSONField

from readiness.models import freeze

FIXTURES = Path(__file__).parent / "fixtures"
SUFFIX = ".tar.xz"
VERSIONS = sorted(path.name.removesuffix(SUFFIX) for path in FIXTURES.glob(f"*{SUFFIX}"))


def unpack(version: str, folder: Path) -> Path:
    """Put a version's files into a data folder; gives the path of its database."""
    with tarfile.open(FIXTURES / f"{version}{SUFFIX}") as packed:
        packed.extraction_filter = getattr(tarfile, "data_filter", None)  # not in 3.11.0 to 3.11.3
        packed.extractall(folder)
    return folder / "db.sqlite3"


def revive(database: Path) -> None:
    """Make the default connection's empty database what the version left, before any upgrade.

    On SQLite it is that file, triggers and all. On PostgreSQL the tables are made by the
    migrations that the version had, and the rows come one by one.
    """
    if connection.vendor == "sqlite":
        connection.close()
        with (
            closing(sqlite3.connect(database)) as old,
            closing(sqlite3.connect(connection.settings_dict["NAME"])) as new,
        ):
            old.backup(new)
        return
    executor = MigrationExecutor(connection)
    applied = _applied(database) & set(executor.loader.graph.nodes)
    targets = _last_of_each(executor.loader.graph, applied)
    executor.migrate(targets)
    models = executor.loader.project_state(targets).apps.get_models(include_auto_created=True)
    _copy_rows(models, database)
    freeze.install()


def _applied(database: Path) -> set[tuple[str, str]]:
    with closing(sqlite3.connect(database)) as old:
        return set(old.execute("SELECT app, name FROM django_migrations"))


def _last_of_each(graph, applied) -> list[tuple[str, str]]:
    """The migrations that nothing else that was applied comes after, in its own app."""
    followed = {
        parent.key
        for key in applied
        for parent in graph.node_map[key].parents
        if parent.key[0] == key[0]
    }
    return sorted(applied - followed)


def _copy_rows(models, database: Path) -> None:
    with closing(sqlite3.connect(database)) as old, transaction.atomic():
        for model in models:
            _copy_table(model, old)
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)


def _copy_table(model, old) -> None:
    fields = model._meta.concrete_fields
    for field in fields:
        field.auto_now_add = field.auto_now = False
    columns = ", ".join(f'"{field.column}"' for field in fields)
    rows = [
        model(
            **{f.attname: _python(f, value) for f, value in zip(fields, row, strict=True)},
        )
        for row in old.execute(f'SELECT {columns} FROM "{model._meta.db_table}"')
    ]
    model._base_manager.bulk_create(rows)


def _python(field, value):
    """A value as Django keeps it in SQLite, as Python's."""
    if value is None:
        return None
    if isinstance(field, JSONField):
        return json.loads(value)
    if isinstance(field, DateTimeField):
        return datetime.fromisoformat(value).replace(tzinfo=UTC)
    return (field.target_field if field.is_relation else field).to_python(value)

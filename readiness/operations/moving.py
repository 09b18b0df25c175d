"""Moving everything to another database: row by row, exactly as it is, or not at all."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.management.color import no_style
from django.db import DatabaseError, connection, connections, transaction
from django.db.models import Model, OuterRef, Subquery

from readiness.models import LastDone, RecordEntry, Site, User, freeze
from readiness.operations import Trouble, installation, roles

TARGET = "target"
MOVED_AWAY = "moved_away"
BATCH = 500
LOCK_WAIT = "10s"
MADE_BY_MIGRATE = (ContentType, Permission)
"""Their rows are in a database as soon as it is migrated: the source's take their place."""


@dataclass
class Moved:
    """How many rows of how many tables are in the other database."""

    tables: int = 0
    rows: int = 0


def move_data(config: dict, url: str, *, say: Callable = lambda words: None) -> Moved:
    """Copy every row into the database of `config` (Django's settings of `url`), then check it.

    Nobody can write to our database meanwhile, and afterwards a note in it says where its data
    went. Raises ``Trouble``; unless it says otherwise the target is then as it was before.
    """
    with _target(config):
        _refuse_misfit()
        try:
            moved, heads = _move(say)
        except DatabaseError as error:
            raise Trouble(f"The move failed, and nothing was kept of it: {error}") from error
        if record_heads("default") != heads:
            raise Trouble(
                "Somebody wrote to the old database after its rows were copied: the new one lacks "
                "it. Stop the site and the worker, empty the new database and move again."
            )
    say("Checking the Record, photos and papers of the new database.")
    _verify(url)
    return moved


@contextmanager
def _target(config: dict) -> Iterator[None]:
    """The other database as the connection `target`."""
    known = connections.settings
    known[TARGET] = connections.configure_settings({"default": known["default"], TARGET: config})[
        TARGET
    ]
    try:
        yield
    finally:
        connections[TARGET].close()
        del connections[TARGET]
        del known[TARGET]


def _refuse_misfit() -> None:
    try:
        there = installation.applied_migrations(TARGET)
        here = installation.applied_migrations("default")
    except DatabaseError as error:
        raise Trouble(f"The database to move to does not answer: {error}") from error
    roles.refuse_another(TARGET)
    if not User.objects.exists():
        raise Trouble("There is nothing to move: this database was never used.")
    if here != there:
        differing = ", ".join(".".join(pair) for pair in sorted(here ^ there)[:5])
        raise Trouble(
            "Both databases must be at the same version: run manage.py migrate on each, with "
            f"DATABASE_URL naming the new one too. They differ in {differing}."
        )
    for model in models():
        if model not in MADE_BY_MIGRATE and _manager(model, TARGET).exists():
            raise Trouble(
                f"The database to move to is in use ({model._meta.db_table} has rows): nothing was "
                "changed. Name one that was migrated and never used."
            )


def models() -> list[type[Model]]:
    """Every table that Django knows, those between two models too."""
    found = apps.get_models(include_auto_created=True)
    return [model for model in found if model._meta.managed and not model._meta.proxy]


def _manager(model: type[Model], alias: str):
    return model._base_manager.using(alias)


def record_heads(alias: str) -> dict:
    """Site, length and last digest of each Record: a write shows here, whatever else it does."""
    last = RecordEntry.objects.filter(site=OuterRef("pk")).order_by("-sequence")
    heads = Site.objects.using(alias).annotate(
        length=Subquery(last.values("sequence")[:1]), head=Subquery(last.values("digest")[:1])
    )
    return {site: rest for site, *rest in heads.values_list("pk", "length", "head").iterator()}


def _move(say: Callable) -> tuple[Moved, dict]:
    moved = Moved()
    with transaction.atomic():  # SQLite: nobody else writes from here on
        _keep_writers_out()
        heads = record_heads("default")
        with transaction.atomic(using=TARGET):
            freeze_off(TARGET)
            for made in reversed(MADE_BY_MIGRATE):
                _manager(made, TARGET).all().delete()
            for model in models():
                count = _copy(model)
                moved.tables, moved.rows = moved.tables + 1, moved.rows + count
                if count:
                    say(f"{model._meta.db_table}: {count}")
            connections[TARGET].check_constraints()
            _reset_sequences()
            freeze.install(TARGET)
            if record_heads(TARGET) != heads:
                raise Trouble("The Records differ after the move: nothing was kept of it.")
        where = connections[TARGET].settings_dict
        place = "/".join(str(where[key]) for key in ("HOST", "NAME") if where[key])
        LastDone.note(MOVED_AWAY, to=place, rows=moved.rows)
    return moved, heads


def freeze_off(alias: str) -> None:
    """The target is empty: nothing is frozen in it yet, and issued reports have to go in."""
    with connections[alias].cursor() as cursor:
        for statement in freeze.drop_statements(connections[alias].vendor):
            cursor.execute(statement)


def _keep_writers_out() -> None:
    if connection.vendor != "postgresql":
        return
    tables = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in models())
    with connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL lock_timeout = '{LOCK_WAIT}'")
        cursor.execute(f"LOCK TABLE {tables} IN SHARE ROW EXCLUSIVE MODE")


def _copy(model: type[Model]) -> int:
    """Copy a table's rows, value by value: no default, no time of now, no save() has a say."""
    fields = model._meta.concrete_fields
    target, quote = connections[TARGET], connections[TARGET].ops.quote_name
    columns = ", ".join(quote(field.column) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    sql = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})"  # noqa: S608
    rows = _manager(model, "default").order_by("pk").values_list(*[one.attname for one in fields])
    source, count = rows.iterator(chunk_size=BATCH), 0
    while batch := list(islice(source, BATCH)):
        ready = [
            [one.get_db_prep_save(value, target) for one, value in zip(fields, row, strict=True)]
            for row in batch
        ]
        _insert(model, sql, ready)
        count += len(batch)
    return count


def _insert(model: type[Model], sql: str, rows: list[list]) -> None:
    try:
        with transaction.atomic(using=TARGET), connections[TARGET].cursor() as cursor:
            cursor.executemany(sql, rows)
    except (DatabaseError, ValueError) as error:
        _name_bad_row(model, sql, rows)
        raise Trouble(f"Rows of {model._meta.db_table} don't go in: {error}") from error


def _name_bad_row(model: type[Model], sql: str, rows: list[list]) -> None:
    """One after the other, to say which row of a refused batch the other database refuses."""
    for row in rows:
        try:
            with transaction.atomic(using=TARGET), connections[TARGET].cursor() as cursor:
                cursor.execute(sql, row)
        except (DatabaseError, ValueError) as error:
            place = [field.primary_key for field in model._meta.concrete_fields].index(True)
            raise Trouble(
                f"The new database refuses the row {row[place]} of {model._meta.db_table}: "
                f"{str(error).strip()} Nothing was kept of the move."
            ) from error


def _reset_sequences() -> None:
    target = connections[TARGET]
    with target.cursor() as cursor:
        for statement in target.ops.sequence_reset_sql(no_style(), models()):
            cursor.execute(statement)


def cancel() -> bool:
    """Take the note away that our data went elsewhere; False when there was none."""
    return bool(LastDone.objects.filter(name=MOVED_AWAY).delete()[0])


def _verify(url: str) -> None:
    """Check the other database in a process of its own, as it will be used."""
    command = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), "verify_record"]
    environment = {**os.environ, "DATABASE_URL": url}
    environment.pop("DATABASE_URL_FILE", None)
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise Trouble(
            "Every row is in the new database, but checking it found: "
            f"{done.stderr.strip().removeprefix('CommandError: ')}"
        )

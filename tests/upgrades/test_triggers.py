"""The triggers stand after every migration, however it ended, and never stand in its way.

Runs on whatever database the tests use; tests/test_postgres.py runs it on a real PostgreSQL.
"""

import os
import signal
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.test import override_settings

from portal.database_checks import check_triggers
from readiness.models import RecordEntry, SiteReport, freeze
from tests.factories import make_applicator, make_issued

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture
def report(todays_database):
    """An issued report in a database of this version."""
    return make_issued(make_applicator(is_owner=True))


def migrate(*args, **options):
    call_command("migrate", *args, verbosity=0, interactive=False, **options)


def value_of(report, column):
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM readiness_sitereport")
        return [value for (value,) in cursor.fetchall()]


def assert_frozen():
    """Whether the database itself refuses, not only whether triggers are listed."""
    assert freeze.missing() == []
    for statement, words in (
        ("UPDATE readiness_sitereport SET notes = 'other'", "never changes"),
        ("UPDATE readiness_defectitem SET required_fix = 'other'", "never changes"),
        ("DELETE FROM readiness_defectitem", "never changes"),
        ("UPDATE readiness_runcheck SET note = 'other'", "never changes"),
        ("UPDATE readiness_recordentry SET verb = 'other'", "append-only"),
        ("DELETE FROM readiness_recordentry", "append-only"),
    ):
        with (
            pytest.raises(IntegrityError, match=words),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)


def test_a_migration_that_rebuilds_frozen_tables_works_and_leaves_them_frozen(report, settings):
    settings.MIGRATION_MODULES = {"readiness": "tests.upgrades.later"}
    migrate("readiness", "x001_rebuild_what_is_frozen")
    assert value_of(report, "wind_kmh") == [None]
    assert_frozen()
    migrate("readiness", "x002_fill_the_wind")
    assert value_of(report, "notes") == ["changed"]
    assert_frozen()


@pytest.mark.long
def test_the_way_back_works_and_leaves_them_frozen(report, settings):
    settings.MIGRATION_MODULES = {"readiness": "tests.upgrades.later"}
    migrate()
    migrate("readiness", "0001_initial")
    assert_frozen()
    migrate()
    assert_frozen()


def test_a_migration_that_fails_leaves_them_frozen_and_changes_nothing(report, settings):
    settings.MIGRATION_MODULES = {"readiness": "tests.upgrades.broken"}
    with pytest.raises(RuntimeError, match="half-way"):
        migrate("readiness", "x001_break_half_way")
    assert value_of(report, "notes") == [""]
    assert_frozen()
    assert "ThawingEditor" not in str(connection.SchemaEditorClass)


@pytest.mark.long
def test_a_migration_without_a_transaction_that_fails_leaves_them_frozen(report, settings):
    settings.MIGRATION_MODULES = {"readiness": "tests.upgrades.broken"}
    migrate("readiness", "x001_break_half_way", fake=True)
    with pytest.raises(RuntimeError, match="half-way"):
        migrate("readiness", "x002_break_outside_a_transaction")
    assert value_of(report, "notes") == ["changed"]  # nothing to take back, as the author chose
    assert_frozen()


@pytest.mark.long
def test_a_migration_that_is_killed_leaves_them_frozen(report, todays_database):
    connection.close()
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "tests.upgrades.killed_settings",
        "UPGRADE_DATABASE": todays_database,
    }
    done = subprocess.run(
        [sys.executable, "-m", "django", "migrate", "--verbosity", "0"],
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == -signal.SIGKILL, done.stderr
    assert_frozen()


@pytest.mark.long
@pytest.mark.parametrize("options", [{"plan": True}, {"check_unapplied": True}])
def test_only_asking_what_there_is_to_do_changes_nothing(report, settings, options):
    settings.MIGRATION_MODULES = {"readiness": "tests.upgrades.later"}
    try:
        migrate(stdout=StringIO(), **options)
    except SystemExit as stopped:
        assert stopped.code == 1  # noqa: PT017  (--check says so when there is something to do)
    assert_frozen()


@pytest.mark.long
def test_migrations_of_others_and_nothing_to_do_leave_them_frozen(report):
    migrate()
    assert_frozen()
    migrate("sessions", "zero")
    assert_frozen()
    migrate("sessions")
    assert_frozen()


def test_triggers_that_are_missing_are_warned_of_and_put_back(report):
    with connection.cursor() as cursor:
        for statement in freeze.drop_statements(connection.vendor)[:2]:
            cursor.execute(statement)
    gone = freeze.missing()
    (warning,) = check_triggers(None, databases=["default"])
    assert len(gone) == 2
    assert " and ".join(gone) in warning.msg
    migrate()
    assert check_triggers(None, databases=["default"]) == []
    assert_frozen()


def test_an_empty_database_is_not_warned_of(empty_database):
    assert check_triggers(None, databases=["default"]) == []


@pytest.mark.long
def test_the_tables_can_go_and_come_back(todays_database):
    migrate("readiness", "zero")
    assert freeze.missing() == []
    migrate()
    make_issued(make_applicator())
    assert_frozen()


def test_what_fails_without_the_triggers_brings_them_back(report):
    def fail_half_way():
        with freeze.without_triggers():
            RecordEntry.objects.update(verb="other")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_half_way()
    assert not RecordEntry.objects.filter(verb="other").exists()
    assert_frozen()


@pytest.mark.long
def test_a_demo_is_emptied_and_its_triggers_stay(report):
    call_command("flush", verbosity=0, interactive=False)
    assert not RecordEntry.objects.exists()
    make_issued(make_applicator())
    assert_frozen()


def test_an_installation_is_never_emptied(report):
    in_production = override_settings(EMBEDDED=False)
    with in_production, pytest.raises(CommandError, match="never emptied"):
        call_command("flush", verbosity=0, interactive=False)
    assert SiteReport.objects.count() == 1

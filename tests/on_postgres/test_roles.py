"""README's two roles: the owner migrates, and the portal can't get past the triggers."""

from contextlib import contextmanager
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import ProgrammingError, connection, connections, transaction

from portal.database_checks import check_role
from readiness.models import RecordEntry, freeze
from readiness.operations.database import snapshot
from tests.factories import make_applicator, make_issued

README = (Path(__file__).parent.parent.parent / "README.md").read_text()
OWNER, PORTAL, DATABASE = "portal_owner", "portal", "portal"
CONNECT = "\\connect portal\n"

WAYS_PAST = (
    "ALTER TABLE readiness_recordentry DISABLE TRIGGER ALL",
    "DROP TRIGGER record_no_update ON readiness_recordentry",
    "CREATE OR REPLACE FUNCTION record_no_update() RETURNS trigger LANGUAGE plpgsql "
    "AS $$ BEGIN RETURN NEW; END $$",
    "CREATE FUNCTION mine() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$",
    "CREATE TRIGGER zz BEFORE UPDATE ON readiness_fix FOR EACH ROW "
    "EXECUTE FUNCTION fix_no_update()",
    "CREATE RULE mine AS ON UPDATE TO readiness_fix DO INSTEAD NOTHING",
    "TRUNCATE readiness_recordentry CASCADE",
    "TRUNCATE readiness_fingerprintband",
    "DROP TABLE readiness_said",
    "DROP SCHEMA public CASCADE",
    "SET session_replication_role = replica",
    "CREATE TEMP TABLE readiness_sitereport (id uuid)",
    "SET ROLE portal_owner",
    "GRANT portal_owner TO portal",
)


def sql_of(mark: str) -> str:
    """The SQL that README shows after a mark."""
    return README.split(f"<!-- {mark} -->")[1].split("```sql\n")[1].split("```")[0]


def run_all(sql: str) -> None:
    with connection.cursor() as cursor:
        for statement in sql.split(";"):
            if statement.strip():
                cursor.execute(statement)


@contextmanager
def connected(**changes):
    """The default connection, to another database or as another role."""
    kept = {name: connection.settings_dict[name] for name in changes}
    connection.close()
    connection.settings_dict.update(changes)
    try:
        yield
    finally:
        connections["default"].close()
        connection.settings_dict.update(kept)


def drop_everything() -> None:
    run_all(f'DROP DATABASE IF EXISTS "{DATABASE}" WITH (FORCE)')
    run_all(f"DROP ROLE IF EXISTS {PORTAL}; DROP ROLE IF EXISTS {OWNER}")


@pytest.fixture
def two_roles(transactional_db, settings):
    """A new database as README makes it, migrated by its owner."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    outside, inside = sql_of("two roles: a new database").split(CONNECT)
    drop_everything()
    run_all(outside)
    with connected(NAME=DATABASE):
        run_all(inside)
    with connected(NAME=DATABASE, USER=OWNER):
        call_command("migrate", verbosity=0, interactive=False)
    yield
    drop_everything()


@pytest.fixture
def one_role(transactional_db, settings):
    """A database that the portal's one role owns, as most begin."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    drop_everything()
    run_all(f"CREATE ROLE {PORTAL} LOGIN; CREATE DATABASE {DATABASE} OWNER {PORTAL}")
    with connected(NAME=DATABASE, USER=PORTAL):
        call_command("migrate", verbosity=0, interactive=False)
        make_issued(make_applicator(is_owner=True))
    yield
    drop_everything()


def the_check():
    (said,) = check_role(None, databases=["default"])
    return said


def assert_bound():
    """The portal's role does its work, and every way past the triggers is closed to it."""
    make_issued(make_applicator(is_owner=True))
    assert freeze.missing() == []
    for statement in WAYS_PAST:
        with pytest.raises(ProgrammingError), transaction.atomic():
            run_all(statement)
    with pytest.raises(Exception, match="append-only"), transaction.atomic():
        RecordEntry.objects.update(verb="other")
    assert the_check().id == "portal.I030"
    assert "as portal," in the_check().msg


def test_the_portal_works_and_can_not_get_past_the_triggers(two_roles, tmp_path):
    with connected(NAME=DATABASE, USER=PORTAL):
        assert_bound()
        with snapshot(tmp_path) as copy:
            assert copy.path.stat().st_size
        with pytest.raises(CommandError, match="does not own the tables"):
            call_command("migrate", verbosity=0, interactive=False)
        call_command("migrate", plan=True, verbosity=0)
    with connected(NAME=DATABASE, USER=OWNER):
        call_command("migrate", verbosity=0, interactive=False)
        assert the_check().id == "portal.W030"


def test_a_database_in_use_is_parted_into_two_roles(one_role):
    with connected(NAME=DATABASE, USER=PORTAL):
        warning = the_check()
        assert (warning.id, "Two roles" in warning.hint) == ("portal.W030", True)
    with connected(NAME=DATABASE):
        run_all(sql_of("two roles: a database in use").split(CONNECT)[1])
    with connected(NAME=DATABASE, USER=PORTAL):
        assert_bound()
    with connected(NAME=DATABASE, USER=OWNER):
        call_command("migrate", verbosity=0, interactive=False)


def test_a_superuser_is_warned_of(transactional_db):
    assert "superuser" in the_check().msg

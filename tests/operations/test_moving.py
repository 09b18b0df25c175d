"""Moving an installation from one database to another, both ways, and what is refused."""

import json
import sqlite3
import subprocess
import sys
import uuid

import psycopg
import pytest
from django.core.management import CommandError, call_command

from tests import migrated
from tests.operations.machine import Machine

EXACT = """
import hashlib, json
from django.contrib.contenttypes.models import ContentType
from django.db.models import JSONField
from readiness.operations.moving import models

def row(model, values):
    fields = model._meta.concrete_fields
    return repr([json.dumps(value, sort_keys=True) if isinstance(field, JSONField)
                 else str(value) if field.is_relation else field.to_python(value)
                 for field, value in zip(fields, values)])

found = {}
for model in models():
    names = [field.attname for field in model._meta.concrete_fields]
    rows = model._base_manager.order_by("pk").values_list(*names)
    if model._meta.db_table == "readiness_lastdone":
        rows = rows.exclude(name="moved_away")
    found[model._meta.db_table] = sorted(row(model, values) for values in rows)
print("READY" + json.dumps(found))
"""

MORE = """
from datetime import timedelta
from django.contrib.auth.models import Group, Permission
from allauth.mfa.models import Authenticator
from django.contrib.sessions.models import Session
from django.utils import timezone
from readiness.models import BuilderContact, Site, User
from readiness.actions.tasks import make_sizes
owner = User.objects.get(is_owner=True)
group = Group.objects.create(name="A group")
group.permissions.set(Permission.objects.order_by("-pk")[:3])
owner.groups.add(group)
contact = BuilderContact.objects.get()
contact.sites.set(Site.objects.all()[:2])
Site.objects.first().notify.add(contact)
Authenticator.objects.create(user=owner, type="totp", data={"secret": "of the app"})
Session.objects.create(session_key="of the owner", session_data="x",
    expire_date=timezone.now() + timedelta(days=1, microseconds=7))
from tests.recorded import record_rows_by_hand
record_rows_by_hand(changed=True)
"""

ADD = """
import json
from django.contrib.auth.models import Group
from readiness.models import Site
from tests.factories import make_contact, make_draft
from readiness.models import User
make_contact(Site.objects.first().builder)
make_draft(User.objects.get(is_owner=True), Site.objects.first())
from tests.recorded import record_rows_by_hand
record_rows_by_hand()
print("READY" + json.dumps(Group.objects.create(name="Another").pk))
"""


def new_file(tmp_path):
    """The address of a SQLite database with today's tables."""
    migrated.copy_to(tmp_path / "there.sqlite3")
    return f"sqlite:///{tmp_path}/there.sqlite3"


def with_more(machine):
    machine.manage("shell", "-v0", "-c", MORE)
    return machine


@pytest.mark.long
@pytest.mark.postgres
def test_every_row_goes_to_postgresql_and_back_to_the_microsecond(machine, databases, tmp_path):
    before = with_more(machine).ask(EXACT)
    assert min(len(before[table]) for table in before if "session" not in table) == 0
    assert sum(map(len, before.values())) > 200
    there = databases(migrated=True)
    said = machine.manage("move_data", "--to", there)
    assert "the Record is whole" in said
    moved = Machine(machine.folder, there)
    assert moved.ask(EXACT) == before
    assert "Whole: 3 sites" in moved.manage("verify_record")
    assert moved.ask(ADD) == 2  # the next number, not one that is taken
    assert moved.bad_pages() == []
    before = moved.ask(EXACT)
    back = new_file(tmp_path)
    moved.manage("move_data", "--to", back)
    home = Machine(machine.folder, back)
    assert home.ask(EXACT) == before
    assert "Whole: 3 sites" in home.manage("verify_record")
    assert home.bad_pages() == []
    with (
        sqlite3.connect(tmp_path / "there.sqlite3") as database,
        pytest.raises(sqlite3.IntegrityError, match="append-only"),
    ):
        database.execute("DELETE FROM readiness_recordentry")


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_triggers_hold_on_the_new_postgresql(machine, databases):
    there = databases(migrated=True)
    assert "the Record is whole" in machine.manage("move_data", "--to", there)
    with (
        psycopg.connect(there) as database,
        pytest.raises(psycopg.errors.IntegrityError, match="never changes"),
    ):
        database.execute("UPDATE readiness_sitereport SET notes = 'other'")


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_a_row_that_the_new_database_refuses_is_named_and_nothing_is_kept(machine, databases):
    there = databases(migrated=True)
    with sqlite3.connect(machine.folder / "db.sqlite3") as database:
        database.execute("UPDATE readiness_builder SET name = ?", ["long" * 100])
        (pk,) = database.execute("SELECT id FROM readiness_builder").fetchone()
    said = machine.refused("move_data", "--to", there)
    assert f"refuses the row {uuid.UUID(pk)} of readiness_builder" in said
    assert "too long" in said
    with psycopg.connect(there) as target:
        assert target.execute("SELECT count(*) FROM readiness_user").fetchone() == (0,)
        triggers = "SELECT count(*) FROM pg_trigger WHERE tgname = 'record_no_update'"
        assert target.execute(triggers).fetchone() == (1,)


def move_to_sqlite(machine, tmp_path):
    there = new_file(tmp_path)
    return there, machine.manage("move_data", "--to", there)


@pytest.mark.long
def test_the_old_database_says_where_its_data_went_until_told_otherwise(machine, tmp_path):
    move_to_sqlite(machine, tmp_path)
    for command in (["check", "--database", "default"], ["migrate", "-v0"]):
        said = machine.refused(*command)
        assert f"was moved to {tmp_path}/there.sqlite3" in said
    machine.manage("move_data", "--cancel")
    machine.manage("check", "--database", "default")
    assert "Nothing was moved away" in machine.refused("move_data", "--cancel")


@pytest.mark.long
def test_nothing_is_moved_into_a_database_in_use(machine, tmp_path):
    there, _ = move_to_sqlite(machine, tmp_path)
    machine.manage("move_data", "--cancel")
    assert "is in use" in machine.refused("move_data", "--to", there)
    own = f"sqlite:///{machine.folder}/db.sqlite3"
    assert "is in use" in machine.refused("move_data", "--to", own)


def test_nothing_is_moved_into_tables_of_another_version(machine, tmp_path):
    there = f"sqlite:///{tmp_path}/there.sqlite3"
    assert "must be at the same version" in machine.refused("move_data", "--to", there)


@pytest.mark.parametrize(
    "url", ["", "x", "mysql://a@b/c", "postgres://", "sqlite://:memory:", "://"]
)
def test_an_address_that_makes_no_sense_is_refused_in_words(db, url):
    with pytest.raises(CommandError, match="database"):
        call_command("move_data", "--to", url)


WRITE_AFTER = """
import sys, django, json
django.setup()
from readiness.management.commands.move_data import config_of
from readiness.operations import moving, Trouble
from readiness.models import Site, User
from readiness.evidence.record import append
from django.db import transaction
plain = moving._move
def move(say):
    result = plain(say)
    with transaction.atomic():
        append(Site.objects.first(), None, "rain_said", {})
    return result
moving._move = move
try:
    moving.move_data(config_of(sys.argv[1]), sys.argv[1])
except Trouble as trouble:
    print(trouble)
"""


def test_a_site_that_was_not_stopped_is_noticed(machine, tmp_path):
    there = new_file(tmp_path)
    command = [sys.executable, "-c", WRITE_AFTER, there]
    done = subprocess.run(command, env=machine.environment, capture_output=True, text=True)
    assert "Somebody wrote to the old database" in done.stdout, done.stderr


# dumpdata


@pytest.mark.parametrize("labels", [[], ["readiness"], ["readiness.Site"], ["auth", "readiness"]])
def test_dumpdata_of_the_portals_rows_is_refused_in_words(db, labels):
    with pytest.raises(CommandError, match=r"breaks the Record's chain.*manage.py backup"):
        call_command("dumpdata", *labels)


def test_dumpdata_of_other_rows_goes_on(db, capsys):
    call_command("dumpdata", "contenttypes")
    assert json.loads(capsys.readouterr().out)
    call_command("dumpdata", exclude=["readiness"])
    assert json.loads(capsys.readouterr().out)

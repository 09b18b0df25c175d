"""Databases that are upgraded, each thrown away after its test."""

import pytest
from django.core.management import call_command
from django.db.models import Max

from readiness import clock
from readiness.models import RecordEntry
from tests.upgrades import kept
from tests.upgrades.scratch import made_once, scratch_database


@pytest.fixture
def empty_database(transactional_db, tmp_path):
    """Everything in the test happens on an empty database; gives its name."""
    with scratch_database(tmp_path) as name:
        yield name


@pytest.fixture
def todays_database(transactional_db, tmp_path):
    """Everything in the test happens on a database with today's tables; gives its name."""
    with scratch_database(tmp_path, migrated=True) as name:
        yield name


# The latest in the quick run; each of those before has its turn in the long one.
EARLIER = [pytest.param(version, marks=pytest.mark.long) for version in kept.VERSIONS[:-1]]


@pytest.fixture(params=[*EARLIER, kept.VERSIONS[-1]])
def old(request, empty_database, tmp_path):
    """An installation as an earlier version left it, not upgraded yet; gives the version."""
    kept.revive(kept.unpack(request.param, tmp_path))
    return request.param


@pytest.fixture(scope="session")
def kept_upgrades(tmp_path_factory):
    """Where databases lie that tests upgrade in the same way."""
    return tmp_path_factory.mktemp("upgrades")


@pytest.fixture
def upgraded(old, kept_upgrades):
    """The same, upgraded, on the day it was left; gives the version that it comes from."""
    made_once(
        kept_upgrades / f"{old}.sqlite3",
        lambda: call_command("migrate", verbosity=0, interactive=False),
    )
    with clock.at(RecordEntry.objects.aggregate(last=Max("at"))["last"]):
        yield old

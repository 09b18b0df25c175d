"""Databases that are upgraded, each thrown away after its test."""

import pytest

from tests.upgrades.scratch import scratch_database


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

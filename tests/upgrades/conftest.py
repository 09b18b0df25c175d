"""Databases that are upgraded, each thrown away after its test."""

import pytest

from tests.upgrades.scratch import scratch_database


@pytest.fixture
def empty_database(django_db_setup, django_db_blocker, tmp_path):
    """Everything in the test happens on an empty database; gives its name."""
    with django_db_blocker.unblock(), scratch_database(tmp_path) as name:
        yield name

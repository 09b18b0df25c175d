import uuid

import psycopg
import pytest

from tests.operations.machine import Machine
from tests.test_postgres import postgres_url  # noqa: F401  a fixture


@pytest.fixture
def machine(tmp_path):
    """An installation on SQLite with three issued reports."""
    machine = Machine(tmp_path / "installation")
    machine.fill()
    return machine


@pytest.fixture
def new_machine(tmp_path):
    """`new_machine()`: an installation where nothing was done yet."""
    made = []

    def make(database_url="", **extra):
        made.append(Machine(tmp_path / f"new-{len(made)}", database_url, **extra))
        return made[-1]

    return make


@pytest.fixture
def databases(postgres_url):  # noqa: F811
    """`databases()`: the address of a new database on the PostgreSQL server."""

    def make():
        name = f"d{uuid.uuid4().hex}"
        with psycopg.connect(postgres_url, autocommit=True) as server:
            server.execute(f"CREATE DATABASE {name}")
        return f"{postgres_url.rpartition('/')[0]}/{name}"

    return make

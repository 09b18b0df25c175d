import shutil
import uuid

import psycopg
import pytest

from tests.operations.machine import Machine
from tests.test_postgres import postgres_url  # noqa: F401  a fixture


@pytest.fixture(scope="session")
def filled(tmp_path_factory):
    """The folder that each `machine` is a copy of; nothing runs on it."""
    machine = Machine(tmp_path_factory.mktemp("filled") / "installation")
    machine.fill()
    return machine.folder


@pytest.fixture
def machine(tmp_path, filled):
    """An installation on SQLite with three issued reports."""
    shutil.copytree(filled, tmp_path / "installation")
    return Machine(tmp_path / "installation")


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

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


@pytest.fixture(scope="session")
def new_database(postgres_url):  # noqa: F811
    """`new_database(like="")`: the address of an empty database on the PostgreSQL server.

    Or of a copy of another one there, that nobody is connected to.
    """

    def make(like=""):
        name = f"d{uuid.uuid4().hex}"
        template = f"TEMPLATE {like.rpartition('/')[2]}" if like else ""
        with psycopg.connect(postgres_url, autocommit=True) as server:
            server.execute(f"CREATE DATABASE {name} {template}")
        return f"{postgres_url.rpartition('/')[0]}/{name}"

    return make


@pytest.fixture(scope="session")
def migrated_there(new_database, tmp_path_factory):
    """The address of a database with today's tables, to make others like it."""
    url = new_database()
    Machine(tmp_path_factory.mktemp("migrated"), url).migrate()
    return url


@pytest.fixture(scope="session")
def filled_there(new_database, migrated_there, tmp_path_factory):
    """The folder and database that each `on_postgres` is a copy of."""
    machine = Machine(tmp_path_factory.mktemp("filled"), new_database(migrated_there))
    machine.fill(migrated_already=True)
    return machine


@pytest.fixture
def on_postgres(tmp_path, filled_there, new_database):
    """An installation on PostgreSQL with three issued reports."""
    shutil.copytree(filled_there.folder, tmp_path / "installation")
    return Machine(tmp_path / "installation", new_database(filled_there.database_url))


@pytest.fixture
def databases(new_database, migrated_there):
    """`databases()`: the address of a new database; `databases(migrated=True)`: with tables."""
    return lambda migrated=False: new_database(migrated_there if migrated else "")

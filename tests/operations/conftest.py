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

    def make(**extra):
        made.append(Machine(tmp_path / f"new-{len(made)}", **extra))
        return made[-1]

    return make

"""Every command of `manage.py` is run by some test, by its name and with its options."""

import pkgutil
import re
from functools import cache
from pathlib import Path

import pytest

from portal.management import commands as of_the_portal
from readiness.management import commands as of_readiness

TESTS = Path(__file__).resolve().parents[1]

NAMES = [
    found.name
    for package in (of_the_portal, of_readiness)
    for found in pkgutil.iter_modules(package.__path__)
]


@cache
def sources() -> str:
    return "\n".join(path.read_text() for path in TESTS.rglob("*.py") if "bench" not in path.parts)


@pytest.mark.parametrize("name", NAMES)
def test_a_command_is_run_by_a_test(name):
    """Through Django's `call_command` (or a test's `run`), or as a process of its own."""
    called = rf"""(call_command\(|\brun\(|manage(\.py"|\(),?)\s*[^)]*?["']{name}["']"""
    assert re.search(called, sources()), f"No test runs `manage.py {name}`."

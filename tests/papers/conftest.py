"""Papers made once for many tests to read."""

import pytest

from tests.papers import reports


@pytest.fixture
def issued(db):
    """An issued report of four walls and ten items, each with one plain photo."""
    return reports.issue(items=10)


@pytest.fixture
def made():
    """`made(report, kind, trade="")`: the bytes of one of a report's papers."""
    return reports.make

"""A report, and its papers."""

import pytest

from tests.papers import reports


@pytest.fixture
def issued(db):
    """An issued report of two walls and three items, each with one plain photo."""
    return reports.issue(walls=2, items=3)


@pytest.fixture
def made():
    """`made(report, kind, trade="")`: the bytes of one of a report's papers."""
    return reports.make

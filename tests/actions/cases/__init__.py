"""One small arrangement for each action: what it is done with, and the entries it has to leave.

`test_every_action.py` runs them all, and fails for an action or a verb that has no case here.
"""

from tests.actions.cases import (  # each notes its own
    fixing,
    papers,
    people,
    photos,
    referrals,
    reporting,
    sites,
    upgrades,
    visits,
)
from tests.actions.cases.base import CASES, NOW, Cast

__all__ = [
    "CASES", "NOW", "Cast",
    "fixing", "papers", "people", "photos", "referrals", "reporting", "sites", "upgrades", "visits",
]  # fmt: skip

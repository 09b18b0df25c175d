"""A builder, and whoever a list is shared with, never learns what the business charges.

Neither the hourly rate nor any sum of money: with the hours beside it a sum tells the rate. The
currency is one that nobody else uses, so that any sum gives itself away. What papers hold is asked
in `tests/papers/test_attached_data.py`.
"""

import pytest
from django.test import Client

from readiness.actions.firm import rule_values
from readiness.models import Business
from tests.portal.test_access_walk import World, space, walk

pytestmark = pytest.mark.django_db

RATE = ("13137", "13,137", "131.37")
CURRENCY = "XTS"
"""Reserved for tests by ISO 4217."""


@pytest.fixture
def world(applicator, contact):
    Business.objects.update_or_create(pk=1, defaults={"currency": CURRENCY})
    rule_values.change_rule_values(applicator, {"labour_cents_per_hour": RATE[0]})
    return World(applicator, contact)


def telling(answer) -> bool:
    said = b"".join(answer) if answer.streaming else answer.content
    return any(word.encode() in said for word in (*RATE, CURRENCY, "labour_cents"))


def asked_for(world, client, names) -> dict[str, bool]:
    """Each page that there is, and whether it tells of money."""
    found: dict[str, bool] = {}
    for name, _path, answer, _post in walk(world, client, names):
        if answer.status_code == 200:
            found[name] = found.get(name, False) or telling(answer)
    return found


def test_no_page_of_a_builder_tells_a_rate(world, client_for, contact):
    leaves_it = ("account_logout", "usersessions_list")
    found = asked_for(world, client_for(contact), lambda name: name not in leaves_it)
    assert {"builder:home", "builder:site", "papers:site"} <= set(found)
    assert [name for name, tells in found.items() if tells] == []


def test_no_shared_list_tells_a_rate(world):
    found = asked_for(world, Client(), lambda name: space(name) == "trade")
    assert "trade:trade_list" in found
    assert not any(found.values())


def test_the_owner_finds_the_rate(world, client_for, applicator):
    """Or the walks above would look for the wrong words."""
    found = asked_for(world, client_for(applicator), lambda name: name.startswith("office:rule"))
    assert any(found.values())

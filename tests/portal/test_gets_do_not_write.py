"""Looking at a page a second time writes nothing, and takes no lock on the database."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.portal.test_access_walk import World, every_route

pytestmark = pytest.mark.django_db

WRITES = re.compile(r"\s*(INSERT|UPDATE|DELETE|REPLACE|BEGIN|SAVEPOINT)\b", re.IGNORECASE)
"""A transaction counts too: on SQLite it takes the lock for writing when it starts."""


@pytest.fixture
def world(applicator, contact):
    return World(applicator, contact)


@pytest.mark.parametrize("who", ["nobody", "contact", "other_contact", "applicator"])
def test_looking_at_a_page_again_writes_nothing(world, client_for, request, who):
    user = None if who == "nobody" else request.getfixturevalue(who)
    found = {}
    for route, name in every_route():
        for path in world.addresses(route):
            client = Client() if user is None else client_for(user)
            client.raise_request_exception = False  # the key of this world can not be used
            client.get(path)
            with CaptureQueriesContext(connection) as queries:
                client.get(path)
            writes = [query["sql"] for query in queries if WRITES.match(query["sql"])]
            if writes:
                found[name] = writes
    assert found == {}

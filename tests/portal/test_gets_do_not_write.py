"""Looking at a page a second time writes nothing, and takes no lock on the database."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.portal.test_access_walk import PUBLIC, World, every_route

pytestmark = pytest.mark.django_db

WRITES = re.compile(r"\s*(INSERT|UPDATE|DELETE|REPLACE|BEGIN|SAVEPOINT)\b", re.IGNORECASE)
"""A transaction counts too: on SQLite it takes the lock for writing when it starts."""


@pytest.fixture
def world(applicator, contact):
    return World(applicator, contact)


@pytest.mark.parametrize(
    "who",
    [
        "nobody",
        "contact",
        *(pytest.param(who, marks=pytest.mark.long) for who in ("other_contact", "applicator")),
    ],
)
def test_looking_at_a_page_again_writes_nothing(world, client_for, request, who):
    user = None if who == "nobody" else request.getfixturevalue(who)

    def browser():
        client = client_for(user)
        client.raise_request_exception = False  # the key of this world can not be used
        return client

    found, client = {}, browser()
    for route, name in every_route():
        for path in world.addresses(route):
            client.get(path)
            with CaptureQueriesContext(connection) as queries:
                client.get(path)
            writes = [query["sql"] for query in queries if WRITES.match(query["sql"])]
            if writes:
                found[name] = writes
            if name in PUBLIC:  # it may have signed somebody in or out
                client = browser()
    assert found == {}

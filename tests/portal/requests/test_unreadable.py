"""What no form of ours sends: NUL in texts, JSON without end. A refusal, never a fault.

Every address of the URL conf is sent it. A database that keeps no NUL (PostgreSQL) is stood in for
by one that refuses each query with a NUL in it.
"""

import re

import pytest
from allauth.mfa.models import Authenticator
from django.db import connection
from django.urls import reverse

from portal.requests import json_body
from readiness.models import Photo, PhotoMeasurement
from tests.factories import make_applicator
from tests.pages import shown
from tests.portal.test_access_walk import (
    FOR_CONTACTS,
    FOR_STAFF,
    PUBLIC,
    World,
    every_route,
    space,
)

pytestmark = pytest.mark.django_db

DEEP = {
    "lists": b'{"shapes": ' + b"[" * 20_000 + b"]" * 20_000 + b', "version": 0}',
    "objects": b'{"shapes": ' + b'{"a": ' * 20_000 + b"1" + b"}" * 20_000 + b"}",
    "not too deep for Python": b'{"shapes": ' + b"[" * 300 + b"]" * 300 + b', "version": 0}',
    "60 000 deep": b'{"pairs": ' + b"[" * 60_000 + b"]" * 60_000 + b"}",
    "never closed": b"[" * 60_000,
}
ODD = {
    "NUL": b'{"shapes": [{"kind": "text", "at": [0.1, 0.1], "text": "a\\u0000b"}], "version": 0}',
    "half a pair": b'{"shapes": [{"kind": "text", "at": [0.1, 0.1], "text": "\\ud800"}]}',
    "a key with NUL": b'{"a\\u0000": 1}',
    "a number without end": b'{"corners": [[1' + b"0" * 400 + b', 0]], "version": 0}',
    "no number": b'{"version": NaN, "shapes": [{"kind": "circle", "box": [NaN, 0, 1, Infinity]}]}',
    "no object": b"[1, 2]",
    "no JSON": b"\xff\xfe\x00{",
    "too much": b'{"a": "' + b"x" * 200_001 + b'"}',
}


@pytest.fixture
def world(applicator, contact):
    return World(applicator, contact)


@pytest.fixture
def no_nul_in_queries():
    """As PostgreSQL has it, which says so with a ValueError or DataError."""

    def refuse(execute, sql, params, many, context):
        assert "\x00" not in repr(params).replace("\\x00", "\x00"), f"NUL in {sql[:80]}"
        return execute(sql, params, many, context)

    with connection.execute_wrapper(refuse):
        yield


SENT = "input|textarea|select|button"


def fields_of(page: str, elements=SENT) -> set[str]:
    """The names of all that a page's forms send."""
    return set(re.findall(rf'<(?:{elements})\b[^>]*\sname="([^"]+)"', page))


def fields_shown(client, path, name, elements=SENT) -> set[str]:
    if name.startswith("mfa_"):
        return {"credential", "code"}  # the passkey of this world is only a row
    page = client.get(path)
    return set() if page.streaming else fields_of(page.content.decode(errors="ignore"), elements)


def addresses(world, who):
    """Those behind signing in, without the other side's rooms: there `who` finds nothing at all."""
    closed = {"contact": FOR_STAFF, "applicator": FOR_CONTACTS}[who]
    return [
        (path, name)
        for route, name in every_route()
        for path in world.addresses(route)
        if name not in PUBLIC and space(name) != closed
    ]


@pytest.mark.parametrize("who", [pytest.param("contact", marks=pytest.mark.long), "applicator"])
def test_nul_in_what_is_sent_is_refused_everywhere(
    world, client_for, request, who, no_nul_in_queries
):
    client = client_for(request.getfixturevalue(who))
    client.raise_request_exception = True
    faults = []
    for path, name in addresses(world, who):
        known = fields_shown(client, path, name)
        names = (known | {"note", "reason", "email", "name", "q"}) - {"csrfmiddlewaretoken"}
        for sent in ({field: f"a\x00{field}" for field in names}, {"x\x00y": "1"}):
            answer = client.post(path, sent)
            if answer.status_code not in (400, 404, 405, 410):
                faults.append((name, path, answer.status_code))
    assert faults == []


ENDS = ("/?q=%00", "/?page=%00&show=%00&by=%00", "/?kind=%00&wall=%00&builder=%00&v=%00", "%00/")


@pytest.mark.parametrize("long", [False, pytest.param(True, marks=pytest.mark.long)])
@pytest.mark.parametrize("who", ["contact", "applicator"])
def test_nul_in_an_address_is_refused_everywhere(
    world, client_for, request, who, no_nul_in_queries, long
):
    """The short test asks each address for one of the ends in turn, the long one for the others."""
    client = client_for(request.getfixturevalue(who))
    faults = []
    for turn, (path, name) in enumerate(addresses(world, who)):
        mine = ENDS[turn % len(ENDS)]
        for end in [end for end in ENDS if end != mine] if long else [mine]:
            code = client.get(path.rstrip("/") + end).status_code
            if code not in (400, 404, 405):
                faults.append((name, path + end, code))
    assert faults == []


def test_the_ways_in_refuse_nul_too(client, no_nul_in_queries):
    for name in ("account_login", "account_request_login_code", "account_reset_password"):
        answer = client.post(
            reverse(name), {"login": "a\x00@b.example", "email": "a\x00@b.example"}
        )
        assert answer.status_code == 400, name


@pytest.mark.parametrize("name", ["photos:markup", "photos:measure"])
def test_json_that_no_screen_sends_is_refused_by_the_photo_tools(
    client_for, applicator, world, name
):
    client = client_for(applicator)
    address = reverse(name, args=[Photo.objects.first().pk])
    for what, body in (DEEP | ODD).items():
        answer = client.post(address, body, "application/json")
        assert answer.status_code == 400, what
        assert answer.json()["error"], what
    assert not PhotoMeasurement.objects.exists()


@pytest.mark.parametrize("what", ["60 000 deep", pytest.param("lists", marks=pytest.mark.long)])
@pytest.mark.parametrize("who", ["contact", "applicator"])
def test_deep_json_is_a_fault_nowhere(world, client_for, request, who, what):
    client = client_for(request.getfixturevalue(who))
    for path, name in addresses(world, who):
        code = client.post(path, DEEP[what], "application/json").status_code
        assert code < 500, (name, path)


KEYS = {
    **DEEP,
    **ODD,
    "an answer of the wrong shape": b'{"id": 5, "response": []}',
    "an empty answer": b'{"id": "AA", "rawId": "AA", "type": "public-key", "response": {}}',
    "somebody who is not there": b'{"id": "AA", "rawId": "AA", "type": "public-key", "response": '
    b'{"clientDataJSON": "AA", "authenticatorData": "AA", "signature": "AA", "userHandle": "_w"}}',
}


@pytest.mark.parametrize("sent", KEYS.values(), ids=KEYS)
def test_an_answer_for_a_passkey_that_no_browser_gives_is_refused(client, sent):
    """The way in with a passkey is open to everybody."""
    page = reverse("mfa_login_webauthn")
    client.get(page, headers={"Accept": "application/json"})
    answer = client.post(page, {"credential": sent.decode(errors="replace")})
    assert answer.status_code in (302, 400)
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("sent", KEYS.values(), ids=KEYS)
def test_staff_adding_a_passkey_are_told_when_it_can_not_be_read(client_for, sent):
    client = client_for(make_applicator())
    page = reverse("mfa_add_webauthn")
    client.get(page)
    answer = client.post(page, {"name": "Phone", "credential": sent.decode(errors="replace")})
    assert answer.status_code in (200, 302, 400)
    assert not Authenticator.objects.exists()


def test_a_form_sent_to_a_photo_tool_is_refused_in_words(client_for, applicator, world):
    page = reverse("photos:markup", args=[Photo.objects.first().pk])
    answer = client_for(applicator).post(page, {"shapes": "[]"})
    assert (answer.status_code, answer.json()["error"]) == (400, json_body.UNREADABLE)


def test_the_refusal_says_what_to_do(client_for, applicator, world):
    answer = client_for(applicator).get(reverse("office:sites") + "?q=%00")
    assert answer.status_code == 400
    assert "what you typed is still there" in shown(answer)

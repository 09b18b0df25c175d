"""When a session was last used is noted now and then, and never at the price of a page."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from allauth.usersessions.models import UserSession
from django.contrib.auth.models import AnonymousUser
from django.db import OperationalError
from django.http import HttpResponse
from django.utils import timezone
from django_htmx.middleware import HtmxMiddleware

from portal.requests import activity
from tests.factories import make_photo

pytestmark = pytest.mark.django_db


@pytest.fixture
def minutes(monkeypatch):
    """`minutes(5)` lets so many minutes pass for whoever asks what time it is."""
    passed = [0.0]
    started_at, started = timezone.now(), 1000

    def later(count):
        passed[0] += count * 60

    monkeypatch.setattr(activity, "monotonic", lambda: started + passed[0])
    monkeypatch.setattr(timezone, "now", lambda: started_at + timedelta(seconds=passed[0]))
    return later


def last_seen(user):
    return UserSession.objects.get(user=user).last_seen_at


def test_the_first_page_notes_the_session(client_for, contact):
    client_for(contact).get("/builder/sites/")
    assert UserSession.objects.get().user == contact


def test_a_page_within_five_minutes_notes_nothing(client_for, contact, minutes):
    client = client_for(contact)
    client.get("/builder/sites/")
    before = last_seen(contact)
    minutes(4)
    client.get("/builder/sites/")
    assert last_seen(contact) == before
    minutes(2)
    client.get("/builder/sites/")
    assert last_seen(contact) > before


def test_soon_after_five_minutes_it_is_noted_again(client_for, contact, minutes):
    client = client_for(contact)
    client.get("/builder/sites/")
    before = last_seen(contact)
    minutes(5.05)
    client.get("/builder/sites/")
    assert last_seen(contact) > before


def test_what_is_remembered_does_not_grow_without_end(rf, contact, monkeypatch):
    monkeypatch.setattr(activity, "MOST_REMEMBERED", 2)
    monkeypatch.setattr(activity, "_noted_by_another_process", lambda key: True)
    page = HttpResponse(content_type="text/html")
    note = activity.ActivityMiddleware(lambda request: page)
    sizes = []
    for key in ("one", "two", "three", "four"):
        request = rf.get("/")
        request.user, request.htmx = contact, False
        request.session = SimpleNamespace(session_key=key)
        note(request)
        sizes.append(len(note.noted))
    assert sizes == [1, 2, 1, 2]


@pytest.mark.parametrize(("who", "key"), [("contact", None), ("nobody", "a-visitor")])
def test_nothing_is_noted_of_a_visitor_or_without_a_session(rf, contact, caplog, who, key):
    note = activity.ActivityMiddleware(lambda request: HttpResponse(content_type="text/html"))
    request = rf.get("/")
    request.user, request.htmx = contact if who == "contact" else AnonymousUser(), False
    request.session = SimpleNamespace(session_key=key)
    note(request)
    assert note.noted == {}
    assert not caplog.records


def test_what_another_process_noted_is_not_noted_again(client_for, contact, minutes):
    first, second = client_for(contact), client_for()
    second.cookies = first.cookies  # another client has a handler, and so a memory, of its own
    first.get("/builder/sites/")
    before = last_seen(contact)
    minutes(1)
    second.get("/builder/sites/")
    assert last_seen(contact) == before


@pytest.mark.parametrize(
    ("content_type", "status", "headers", "noted"),
    [
        ("text/html; charset=utf-8", 200, {}, True),
        ("text/html; charset=utf-8", 302, {}, True),
        ("text/html; charset=utf-8", 200, {"HX-Request": "true"}, False),
        ("text/html; charset=utf-8", 400, {}, False),
        ("text/html; charset=utf-8", 404, {}, False),  # a picture that is not there
        ("image/jpeg", 200, {}, False),
        ("application/pdf", 200, {}, False),
        ("application/json", 200, {}, False),
    ],
)
def test_pages_say_that_somebody_is_there_and_pictures_and_polls_do_not(
    rf, content_type, status, headers, noted
):
    request = rf.get("/", headers=headers)
    HtmxMiddleware(lambda request: None)(request)
    answer = HttpResponse(status=status, content_type=content_type)
    assert activity.says_somebody_is_there(request, answer) is noted


def test_a_picture_notes_nothing(client_for, applicator, site):
    photo = make_photo(site, applicator)
    client_for(applicator).get(f"/photos/{photo.pk}/small/")
    assert not UserSession.objects.exists()


def test_what_is_sent_notes_the_session(client_for, contact):
    client_for(contact).post("/accounts/", headers={"HX-Request": "true"})
    assert UserSession.objects.filter(user=contact).exists()


def test_a_database_that_takes_no_note_still_gives_the_page(client_for, contact, monkeypatch):
    def locked(request):
        raise OperationalError("database is locked")

    asked = []
    monkeypatch.setattr(
        UserSession.objects,
        "create_from_request",
        lambda request: asked.append(1) or locked(request),
    )
    client = client_for(contact)
    assert client.get("/builder/").status_code == 200
    assert client.get("/builder/").status_code == 200
    assert asked == [1]  # and the next page is not held up by trying again

"""How long a session lasts, who can end it, and what a browser keeps of the pages about it."""

import re
from datetime import timedelta

import pytest
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from portal.accounts.sessions import SignedIn, signed_in
from readiness.actions.people import rights
from tests.factories import make_applicator
from tests.pages import shown
from tests.portal.test_access_walk import World, every_route

pytestmark = pytest.mark.django_db

PASSWORD = "three random words"
HOME, AGAIN, LOGOUT = "/office/", reverse("account_reauthenticate"), reverse("account_logout")


@pytest.fixture(autouse=True)
def _no_tries_yet(db):
    cache.clear()


@pytest.fixture
def after(monkeypatch):
    """`after(hours=1)` lets time pass for whoever asks, but for limits on tries."""
    started = timezone.now()

    def later(**passed):
        monkeypatch.setattr(timezone, "now", lambda: started + timedelta(**passed))

    return later


def opens(client, page) -> bool:
    return client.get(page).status_code == 200


def test_a_session_of_staff_ends_after_twelve_hours_without_use(client_for, after):
    client = client_for(make_applicator())
    assert opens(client, HOME)
    after(hours=11.9)
    assert opens(client_of(client), HOME)
    after(hours=23.7)
    assert opens(client_of(client), HOME), "it was used in between"
    after(hours=23.7 + 12.1)
    assert not opens(client_of(client), HOME)


def client_of(client):
    """The same browser at another process, which remembers nothing of it."""
    other = Client()
    other.cookies = client.cookies
    return other


def test_a_session_of_a_contact_ends_after_thirty_days_without_use(client_for, contact, after):
    client = client_for(contact)
    assert opens(client, "/builder/")
    after(days=29.9)
    assert opens(client_of(client), "/builder/")
    after(days=60.1)
    assert not opens(client_of(client), "/builder/")


def test_no_session_lasts_longer_than_half_a_year(client_for, contact, after):
    client = client_for(contact)
    for days in range(0, 180, 20):
        after(days=days)
        assert opens(client_of(client), "/builder/"), "it was used all along"
    after(days=179.9)
    assert opens(client_of(client), "/builder/")
    after(days=180.1)
    assert not opens(client_of(client), "/builder/")


def test_the_cookie_lasts_as_long_as_the_session(client_for, settings):
    settings.READINESS_STAFF_IDLE_HOURS = 3
    client = client_for(make_applicator())
    answer = client.get(HOME)
    assert answer.cookies["sessionid"]["max-age"] == 3 * 3600


def test_pictures_and_polls_keep_no_session_alive(client_for, after):
    client = client_for(make_applicator())
    assert opens(client, HOME)
    after(hours=11)
    client_of(client).get(HOME, headers={"HX-Request": "true"})
    after(hours=13)
    assert not opens(client_of(client), HOME)


def test_proving_who_you_are_gives_the_session_another_id(client_for):
    staff = make_applicator(password=PASSWORD)
    client = client_for(staff)
    client.get(HOME)
    old = client.cookies["sessionid"].value
    assert client.post(AGAIN, {"password": "wrong"}).status_code == 200
    assert client.cookies["sessionid"].value == old
    assert client.post(AGAIN, {"password": PASSWORD}).status_code == 302
    new = client.cookies["sessionid"].value
    assert new != old
    assert not Session.objects.filter(session_key=old).exists()
    assert [row.session_key for row in UserSession.objects.filter(user=staff)] == [new]
    assert opens(client, HOME)


def test_leaving_clears_what_the_browser_kept_but_not_what_was_not_sent_yet(client_for, contact):
    answer = client_for(contact).post(LOGOUT)
    assert answer["Clear-Site-Data"] == '"cache"'
    client = client_for(contact)
    client.get("/builder/")
    own = UserSession.objects.get(user=contact, session_key=client.cookies["sessionid"].value)
    answer = client.post(reverse("usersessions_list"), {"session": own.pk})
    assert answer["Clear-Site-Data"] == '"cache"'


def test_only_leaving_clears_what_the_browser_kept(client_for, contact):
    answer = client_for().post(reverse("account_request_login_code"), {"email": contact.email})
    assert answer.status_code == 302
    assert "Clear-Site-Data" not in answer


def test_ending_another_session_clears_nothing_here(client_for, contact):
    here, there = client_for(contact), client_for(contact)
    here.get("/builder/")
    there.get("/builder/")
    other = UserSession.objects.get(session_key=there.cookies["sessionid"].value)
    answer = here.post(reverse("usersessions_list"), {"session": other.pk})
    assert "Clear-Site-Data" not in answer
    assert not opens(there, "/builder/")


SECRET = {"accounts:invitation", "accounts:own_code"}


def test_no_browser_keeps_a_page_with_a_secret(client_for, applicator, contact):
    world = World(applicator, contact)
    client = client_for(applicator)
    client.raise_request_exception = False  # the key of this world can not be used
    kept, asked = set(), set()
    for route, name in every_route():
        if name.startswith(("mfa_", "account_")) or name in SECRET:
            for path in world.addresses(route):
                client.force_login(applicator)
                for answer in (client.get(path), client.post(path)):
                    asked.add(name)
                    if answer.status_code < 400 and "no-store" not in answer.get(
                        "Cache-Control", ""
                    ):
                        kept.add((name, answer.status_code))
    assert kept == set()
    assert {"mfa_activate_totp", "mfa_view_recovery_codes"} <= asked


def test_who_is_counted_as_signed_in(client_for, contact, applicator):
    assert signed_in([contact, applicator]) == {contact.pk: SignedIn(), applicator.pk: SignedIn()}
    one, two = client_for(contact), client_for(contact)
    for client in (one, two):
        client.get("/builder/")
    found = signed_in([contact])[contact.pk]
    assert found.devices == 2
    assert found.last_used_at == max(row.last_seen_at for row in UserSession.objects.all())
    Session.objects.filter(session_key=one.cookies["sessionid"].value).delete()
    assert signed_in([contact])[contact.pk].devices == 1
    rights.end_sessions(contact)
    assert signed_in([contact])[contact.pk].devices == 0


def test_a_session_of_before_a_new_password_is_not_counted(client_for):
    staff = make_applicator(password=PASSWORD)
    client_for(staff).get(HOME)
    staff.set_password("four other random words")
    staff.save()
    assert signed_in([staff])[staff.pk].devices == 0


def test_an_owner_ends_the_sessions_of_a_contact(client_for, applicator, contact):
    theirs, owner = client_for(contact), client_for(applicator)
    theirs.get("/builder/")
    page = reverse("office:contact", args=[contact.memberships.get().pk])
    assert re.search("Signed in on 1 device, last used", shown(owner.get(page)))
    answer = owner.post(
        reverse("office:sign_out_contact", args=[contact.memberships.get().pk]), follow=True
    )
    assert "is signed out on every device" in shown(answer)
    assert "Not signed in on any device" in shown(answer)
    assert not opens(theirs, "/builder/")
    contact.refresh_from_db()
    assert opens(client_for(contact), "/builder/"), "they can sign in again"


def test_an_owner_ends_the_sessions_of_a_colleague(client_for, applicator):
    colleague = make_applicator()
    theirs, owner = client_for(colleague), client_for(applicator)
    theirs.get(HOME)
    change = reverse("office:change_staff", args=[colleague.pk])
    assert "is signed out on every device" in shown(
        owner.post(change, {"change": "sign_out"}, follow=True)
    )
    assert not opens(theirs, HOME)


def test_only_owners_end_sessions_of_others(client_for, applicator, contact):
    technician, theirs = client_for(make_applicator()), client_for(contact)
    page = reverse("office:contact", args=[contact.memberships.get().pk])
    assert "Sign out everywhere" not in shown(technician.get(page))
    out = reverse("office:sign_out_contact", args=[contact.memberships.get().pk])
    assert technician.post(out).status_code == 403
    change = reverse("office:change_staff", args=[applicator.pk])
    assert technician.post(change, {"change": "sign_out"}).status_code == 403
    assert opens(theirs, "/builder/")


def test_the_staff_page_asks_the_same_number_of_queries_for_many(
    client_for, applicator, django_assert_max_num_queries
):
    for _ in range(12):
        client_for(make_applicator()).get(HOME)
    owner = client_for(applicator)
    owner.get(HOME)
    with django_assert_max_num_queries(9):
        owner.get(reverse("office:staff"))

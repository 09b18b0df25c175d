"""Every address of the portal, asked for as anonymous, outsider, contact and applicator.

The walk reads the URL conf, so that a new page is asked for from the day it exists. Ids are found
by the word before them in the address ("sites/<uuid:pk>/" is a site) or by their own name
("site_id"); a page about something new needs one line in `World`.
"""

import re
from datetime import date, timedelta
from itertools import product

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client
from django.urls import URLPattern, get_resolver

from portal.accounts.demo import sign_in_path
from readiness import clock
from readiness.actions import referrals, sharing
from readiness.actions.people import inviting
from readiness.models import Booking, Fix, Message, Paper, ReadinessConfirmation
from tests.factories import (
    make_applicator,
    make_day_off,
    make_draft,
    make_issued,
    make_item,
    make_site,
    token_of,
)

pytestmark = pytest.mark.django_db

LOGIN = "/accounts/login/"
PUBLIC = {
    "account_login",
    "account_logout",
    "account_request_login_code",
    "account_confirm_login_code",
    "account_inactive",
    "account_signup",
    "account_reset_password",
    "account_reset_password_done",
    "account_reset_password_from_key",
    "account_reset_password_from_key_done",
    "mfa_authenticate",
    "mfa_login_webauthn",
    "accounts:invitation",
    "accounts:demo_sign_in",
    "public:check",
    "live",
    "ready",
}
"""Pages that need no signing in. Those of the namespace `trade` need a link instead."""

FOR_EVERYBODY = {
    "home",
    "cautions",
    "about",
    "accounts:profile",
    "accounts:own_code",
    "usersessions_list",
}
NEEDS_A_QUERY = {"office:item_check"}
"""Parts of a page that answer what is typed: without it there is nothing."""

STAFF_ONLY = {"office:preview"}
FOR_CONTACTS, FOR_STAFF = "builder", "office"


ROOMS_OF_A_SITE = ("walls", "levels", "record", "review", "confirming")
"""Their addresses go on with the site."""


def _referrals(applicator, site):
    """Live termites, decided already, and a wall that nobody can reach."""
    licensed = make_applicator(licence_number="T-2208")
    found = referrals.note_live_termites(applicator, site)
    referrals.decide_referral(licensed, found, outcome="not_termites", reason="Ants.")
    wall = site.wall_runs.last()
    return [found, referrals.note_no_access(applicator, wall, cause="boundary")]


class World:
    """A builder's site with one of everything on it, by the word that addresses use."""

    def __init__(self, applicator, contact):
        site = make_site(builder=contact.memberships.get().builder)
        issued = make_issued(applicator, site)
        draft = make_draft(applicator, site)
        item = issued.items.get()
        drafted = make_item(applicator, draft)
        now = clock.now()
        fix = Fix.objects.create(item=item, said_by=contact, said_at=now)
        confirmation = ReadinessConfirmation.objects.create(
            report=issued,
            statement="Ready.",
            name="Sam",
            position="Supervisor",
            signature="Sam",
            ticks={},
            confirmed_at=now,
            valid_until=now + timedelta(days=7),
        )
        booking = Booking.objects.create(
            site=site,
            asked_by=contact,
            asked_at=now,
            preferences=[{"date": "2027-03-11", "half": "morning"}],
            state=Booking.State.CONFIRMED,
            day=date(2027, 3, 11),
            half=Booking.Half.MORNING,
            confirmed_by=contact,
            confirmed_at=now,
            confirmation=confirmation,
        )
        key = Authenticator.objects.create(user=applicator, type="webauthn", data={"name": "A"})
        link = sharing.share_trade_list(contact, site, item.trade)
        invited = inviting.invite_contact(applicator, site.builder, "new@wattle.example")
        paper = Paper.objects.filter(site=site).first() or Paper.objects.create(
            site=site, kind=Paper.Kind.GUIDE
        )
        email = Message.objects.create(
            site=site, to=contact, kind="booking_confirmed", about=booking.pk, key="", queued_at=now
        )
        photos = list(site.photos.all())
        self.things = {
            "sites": [site],
            "reports": [issued, draft],
            "items": [item, drafted],
            "fixes": [fix],
            "confirmations": [confirmation],
            "bookings": [booking],
            "emails": [email],
            "links": [link],
            "referrals": _referrals(applicator, site),
            "builders": [site.builder],
            "contacts": [contact.memberships.get()],
            "invitations": [invited],
            "staff": [make_applicator()],
            "runs": list(site.wall_runs.all())[:1],
            "papers": [paper],
            "days-off": [make_day_off()],
            "photos": photos,
            "befores": photos,
            "upload": [site],
            **{room: [site] for room in ROOMS_OF_A_SITE},
            "keys": [key],
        }
        self.words = {
            "trade": [item.trade],
            "size": ["small", "large"],
            "kind": ["site_report"],
            "uidb36": ["x"],
            "key": ["nothing"],
        }
        self.tokens = {
            "invitation": token_of(invited),
            "demo": sign_in_path(contact).split("/")[-2],
            "trade": link.token,
        }

    def addresses(self, route):
        """Every address that a route can stand for in this world."""
        names = re.findall(r"<(?:\w+:)?(\w+)>", route)
        choices = [self._choices(route, name) for name in names]
        for values in product(*choices):
            path = route
            for value in values:
                path = re.sub(r"<[^>]+>", str(value), path, count=1)
            yield "/" + path

    def _choices(self, route, name):
        before = route.split(f"{name}>")[0].rsplit("<", 1)[0].strip("/").split("/")[-1]
        if name == "token":
            return [self.tokens[before]]
        if name in self.words:
            return self.words[name]
        kind = re.sub(r"_(id|pk)$", "s", name) if name.endswith(("_id", "_pk")) else before
        assert kind in self.things, f"Say in World what {name} is in {route}"
        return [thing.pk for thing in self.things[kind]]


def every_route(resolver=None, prefix="", namespace=""):
    """Every view of the URL conf as (route, full name)."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = prefix + re.sub(r"\(\?P(<\w+>)[^)]*\)", r"\1", str(pattern.pattern)).strip("^$")
        if isinstance(pattern, URLPattern):
            if pattern.name is None:
                continue  # an address of an earlier version, which only leads on
            yield route, f"{namespace}{pattern.name}"
        else:
            inner = f"{pattern.namespace}:" if pattern.namespace else namespace
            yield from every_route(pattern, route, inner)


@pytest.fixture
def world(applicator, contact):
    return World(applicator, contact)


def walk(world, client, names):
    """Ask for every address whose view's name passes; yields (name, path, GET, POST answers)."""
    for route, name in every_route():
        if names(name):
            for path in world.addresses(route):
                yield name, path, client.get(path), client.post(path)


def answers_of(world, client, names):
    """The same walk with the status codes only."""
    for name, path, *answers in walk(world, client, names):
        yield name, path, *(answer.status_code for answer in answers)


def nothing_there(codes):
    """Whether a page does not exist for somebody: 404, or 405 where it takes no such request."""
    return set(codes) in ({404}, {404, 405})


def space(name):
    return name.rpartition(":")[0]


def test_the_walk_meets_every_page_and_no_name_is_listed_in_vain():
    names = {name for _, name in every_route()}
    assert len(names) > 40
    assert names >= PUBLIC | FOR_EVERYBODY


def test_anonymous_visitors_are_sent_to_sign_in(world):
    wrong = [
        (name, path, answer.status_code)
        for name, path, *answers in walk(
            world, Client(), lambda name: name not in PUBLIC and space(name) != "trade"
        )
        for answer in answers
        if not (answer.status_code == 302 and answer.url.startswith(LOGIN))
    ]
    assert wrong == []


def test_a_shared_list_needs_its_link_and_nothing_else(world):
    for name, path, got, _ in walk(world, Client(), lambda name: space(name) == "trade"):
        token = path.split("/")[2]
        assert got.status_code != 500, path  # 503 says that a photo has no file
        if name == "trade:trade_list":
            assert got.status_code == 200
        forged = path.replace(token, token[:-2] + "xx")
        assert Client().get(forged).status_code == 404


def test_another_builders_contact_finds_nothing(world, client_for, other_contact):
    client = client_for(other_contact)
    wrong = []
    for name, path, *answers in walk(
        world,
        client,
        lambda name: (
            space(name) in (FOR_CONTACTS, FOR_STAFF, "papers", "photos", "accounts")
            and name not in PUBLIC | FOR_EVERYBODY
        ),
    ):
        about_something = re.search(r"[0-9a-f]{8}-|/\d+/", path)
        if not about_something and space(name) == FOR_CONTACTS:
            continue  # the outsider's own lists
        codes = [answer.status_code for answer in answers]
        if not nothing_there(codes):
            wrong.append((name, path, codes))
    assert wrong == []


def test_a_contact_finds_none_of_the_applicators_screens(world, client_for, contact):
    client = client_for(contact)
    wrong = [
        (name, path, codes)
        for name, path, *codes in answers_of(world, client, lambda name: space(name) == FOR_STAFF)
        if not nothing_there(codes)
    ]
    assert wrong == []


def test_a_contact_who_is_limited_to_other_sites_finds_nothing(world, client_for, contact):
    limited = contact.memberships.get()
    limited.all_sites = False
    limited.save()
    limited.sites.set([make_site(builder=limited.builder)])
    client = client_for(contact)
    wrong = [
        (name, path, got.status_code)
        for name, path, got, _ in walk(
            world, client, lambda name: space(name) in (FOR_CONTACTS, "papers", "photos")
        )
        if re.search(r"[0-9a-f]{8}-", path) and got.status_code not in (404, 405)
    ]
    assert wrong == []


def test_the_applicator_finds_none_of_the_builders_screens(world, client_for, applicator):
    client = client_for(applicator)
    wrong = [
        (name, path, codes)
        for name, path, *codes in answers_of(
            world, client, lambda name: space(name) == FOR_CONTACTS
        )
        if not nothing_there(codes)
    ]
    assert wrong == []


@pytest.mark.parametrize(("who", "where"), [("contact", FOR_CONTACTS), ("applicator", FOR_STAFF)])
def test_everybody_finds_their_own_screens(world, client_for, request, who, where):
    client = client_for(request.getfixturevalue(who))
    found, missing = set(), {}
    for route, name in every_route():
        if space(name) in (where, "papers", "photos") or name in FOR_EVERYBODY:
            for path in world.addresses(route):
                code = client.get(path).status_code
                assert code != 500, path  # 503 says that a photo has no file
                if code == 404:
                    missing[name] = path
                else:
                    found.add(name)
    # The photos and the paper of this world are rows without files.
    without_files = {name for name in missing if space(name) == "photos"} | {"papers:paper"}
    not_theirs = STAFF_ONLY if who == "contact" else set()
    assert set(missing) - found - without_files - not_theirs - NEEDS_A_QUERY == set()
    assert not found & not_theirs

"""Links of earlier versions still lead to their pages: they are in e-mails and on papers."""

import uuid
from types import SimpleNamespace

import pytest
from django.test import Client
from django.urls import resolve, reverse

from portal.earlier_addresses import EARLIER
from tests.factories import make_site
from tests.portal.test_access_walk import World

pytestmark = pytest.mark.django_db


def test_an_earlier_address_leads_to_the_page_that_stood_there(applicator, contact):
    world = World(applicator, contact)
    world.tokens["shared"] = world.tokens["trade"]
    world.things["photos"] = world.things["photos"] or [SimpleNamespace(pk=uuid.UUID(int=7))]
    for route, name in EARLIER:
        path = next(world.addresses(route))
        answer = Client().get(path + "?q=lane")
        assert answer.status_code == 308, route
        target, _, query = answer["Location"].partition("?")
        assert query == "q=lane"
        found, before = resolve(target), resolve(path).kwargs
        assert found.view_name == name
        assert found.kwargs == {key: before[key] for key in before if key != "name"}


def test_a_form_of_an_open_page_arrives_where_its_view_stands_now(client_for, contact):
    site = make_site(builder=contact.memberships.get().builder)
    answer = client_for(contact).post(f"/my/sites/{site.pk}/book/", {"day": ""}, follow=True)
    assert answer.redirect_chain[0] == (reverse("builder:book", args=[site.pk]), 308)
    assert answer.request["REQUEST_METHOD"] == "POST"


def test_an_earlier_address_shows_nothing_to_who_may_not_see_its_page(client_for, other_contact):
    site = make_site()
    answer = client_for(other_contact).get(f"/my/sites/{site.pk}/", follow=True)
    assert answer.status_code == 404

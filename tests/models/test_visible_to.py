"""Who sees nothing at all: whoever is not signed in, was switched off, or belongs to no builder."""

import pytest
from django.contrib.auth.models import AnonymousUser

from readiness import clock
from readiness.models import Booking, DefectItem, Paper, Photo, Site, SiteReport
from tests.factories import make_issued

pytestmark = pytest.mark.django_db

KINDS = (Site, SiteReport, DefectItem, Photo, Booking, Paper)


def seen_by(user) -> dict[str, int]:
    return {kind.__name__: kind.objects.visible_to(user).count() for kind in KINDS}


def nothing() -> dict[str, int]:
    return {kind.__name__: 0 for kind in KINDS}


@pytest.fixture(autouse=True)
def world(applicator, contact, site):
    make_issued(applicator, site)
    Booking.objects.create(site=site, state="asked", asked_by=contact, asked_at=clock.now())


def test_who_may_see_a_site_sees_all_that_is_of_it(applicator, contact):
    assert all(seen_by(applicator).values())
    assert all(seen_by(contact).values())


def test_who_is_not_signed_in_sees_nothing():
    assert seen_by(AnonymousUser()) == nothing()


@pytest.mark.parametrize("who", ["applicator", "contact"])
def test_who_was_switched_off_sees_nothing(request, who):
    user = request.getfixturevalue(who)
    user.is_active = False
    assert seen_by(user) == nothing()


def test_a_contact_who_was_switched_off_sees_nothing(contact):
    contact.memberships.update(is_active=False)
    assert seen_by(contact) == nothing()


def test_another_builder_sees_nothing(other_contact):
    assert seen_by(other_contact) == nothing()

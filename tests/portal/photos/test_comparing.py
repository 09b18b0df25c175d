"""Before and after: who is offered to line the photos up, and what an address does for others."""

import json

import pytest
from django.urls import reverse

from readiness.actions.fixing import fixes
from tests.factories import make_issued, make_photo

pytestmark = pytest.mark.django_db

BUTTON = "data-open-line-up"
PAIRS = [[[0.1, 0.1], [0.2, 0.1]], [[0.9, 0.5], [0.8, 0.6]]]


@pytest.fixture
def item(applicator, site):
    return make_issued(applicator, site).items.get()


def compared(item, after):
    return reverse("photos:compare_with", args=[after.pk, item.photos.get().pk])


def post(client, address):
    return client.post(address, json.dumps({"pairs": PAIRS}), content_type="application/json")


def test_a_contact_is_offered_it_until_the_fix_is_reviewed(client_for, applicator, contact, item):
    after = make_photo(item.report.site, contact)
    fixes.report_fixed(contact, item, photos=[after])
    address, client = compared(item, after), client_for(contact)
    assert BUTTON in client.get(address).content.decode()
    assert post(client, address).json() == {"pairs": PAIRS}
    item.refresh_from_db()
    fixes.accept_fix(applicator, item)
    page = client.get(address)
    assert page.status_code == 200
    assert BUTTON not in page.content.decode()
    assert post(client, address).status_code == 403
    assert BUTTON in client_for(applicator).get(address).content.decode()


def test_somebody_elses_photo_is_only_looked_at(client_for, applicator, contact, item):
    after = make_photo(item.report.site, applicator)
    fixes.report_fixed(contact, item, photos=[make_photo(item.report.site, contact)])
    after.item = item
    after.save()
    address = reverse(
        "photos:compare_with", args=[after.pk, item.photos.order_by("received_at").first().pk]
    )
    client = client_for(contact)
    assert BUTTON not in client.get(address).content.decode()
    assert post(client, address).status_code == 403
    after.refresh_from_db()
    assert after.alignment is None

"""A position is whole, or there is none: the database takes no half."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from readiness.models import Photo, Site, freeze
from tests.factories import make_photo

PLACE = (Decimal("-27.470000"), Decimal("153.020000"))
NOWHERE = (None, None)
WRONG = [(PLACE[0], None), (None, PLACE[1]), (Decimal("91"), PLACE[1]), (PLACE[0], Decimal("181"))]


def put(row, position):
    latitude, longitude = position
    with freeze.without_triggers():  # a photo's place never changes
        type(row).objects.filter(pk=row.pk).update(latitude=latitude, longitude=longitude)
    row.refresh_from_db()
    return row.latitude, row.longitude


@pytest.mark.parametrize("model", [Site, Photo])
def test_a_position_is_whole_and_on_earth_or_there_is_none(model, site, applicator):
    row = site if model is Site else make_photo(site, applicator)

    assert put(row, PLACE) == PLACE
    assert put(row, NOWHERE) == NOWHERE
    for position in WRONG:
        with pytest.raises(IntegrityError), transaction.atomic():
            put(row, position)

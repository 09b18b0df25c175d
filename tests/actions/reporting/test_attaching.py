"""Photos given to an item or to the check of a wall: each picture once."""

import pytest

from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts
from readiness.actions.reporting.attaching import attach_photos
from readiness.models import RecordEntry
from readiness.models.verbs import Verb
from tests.factories import make_draft, make_item, make_photo, make_runs, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft(applicator, site):
    return make_draft(applicator, site)


@pytest.fixture
def item(applicator, draft):
    return make_item(applicator, draft, photo=False)


def twin_of(photo, uploaded_by):
    """Another upload of the same bytes."""
    return make_photo(photo.site, uploaded_by, photo.original)


def attached() -> int:
    return RecordEntry.objects.filter(verb=Verb.PHOTO_ATTACHED).count()


def test_the_same_picture_sent_twice_at_once_is_attached_once(applicator, site, item):
    photo = make_photo(site, applicator)
    twin = twin_of(photo, applicator)
    attach_photos(applicator, item, [photo, twin])
    assert list(item.photos.all()) == [photo]
    assert attached() == 1


def test_a_picture_that_an_item_has_is_not_attached_again(applicator, site, item):
    photo = make_photo(site, applicator)
    attach_photos(applicator, item, [photo])
    attach_photos(applicator, item, [photo])
    attach_photos(applicator, item, [twin_of(photo, applicator)])
    assert list(item.photos.all()) == [photo]
    assert attached() == 1


def test_a_picture_of_one_item_may_show_another_item_too(applicator, site, draft, item):
    photo = make_photo(site, applicator)
    attach_photos(applicator, item, [photo])
    other = make_item(applicator, draft, photo=False)
    twin = twin_of(photo, applicator)
    attach_photos(applicator, other, [twin])
    assert list(other.photos.all()) == [twin]


def test_a_photo_of_another_site_is_refused(applicator, builder, item):
    elsewhere = make_site(builder)
    make_runs(elsewhere)
    with pytest.raises(Refused, match="another site"):
        attach_photos(applicator, item, [make_photo(elsewhere, applicator)])
    assert not item.photos.exists()


def test_a_photo_of_an_item_is_not_taken_for_a_wall(applicator, site, draft, item):
    photo = make_photo(site, applicator)
    attach_photos(applicator, item, [photo])
    with pytest.raises(Refused, match="is used already"):
        drafts.check_run(applicator, draft, site.wall_runs.first(), photos=[photo])
    photo.refresh_from_db()
    assert photo.item == item
    assert photo.run_check is None

"""Pictures of a store that does not answer: a stand-in, then the picture; no marks on nothing."""

import io

import pytest
from django.core.files.storage import FileSystemStorage, storages
from django.urls import reverse
from playwright.sync_api import expect

from readiness.actions.photos.keeping import add_photo
from readiness.photos import sizes
from readiness.photos.store import StoreUnreachable
from tests.browser.conftest import SIZES
from tests.photos.pictures import jpeg, landmark

pytestmark = pytest.mark.django_db(transaction=True)


class Away:
    """A store of files that does not answer until it is told to."""

    silent = True


@pytest.fixture
def away(monkeypatch):
    """The sizes are away, as those of a store that does not answer."""
    state = Away()
    plain = FileSystemStorage.exists

    def exists(self, name):
        if state.silent and name.startswith("sizes/"):
            raise StoreUnreachable("The object store failed.")
        return plain(self, name)

    monkeypatch.setattr(FileSystemStorage, "exists", exists)
    return state


@pytest.fixture
def photo(applicator, site):
    photo = add_photo(applicator, site, io.BytesIO(jpeg(landmark(800, 600))), filename="wall.jpg")
    photo.on_site = True
    photo.save()
    assert storages["photos"].exists(sizes.size_name(photo.original, "small"))
    return photo


@SIZES
def test_a_thumbnail_that_was_away_comes_by_itself(size, open_as, applicator, photo, away, axe):
    page = open_as(applicator, "/cautions/", size=size)
    page.clock.install()
    with page.expect_response("**/small/**") as answer:
        page.goto(reverse("office:photos", args=[photo.site_id]))
    assert answer.value.status == 503
    picture = page.locator(".photo-list img")
    expect(picture).to_have_js_property("naturalWidth", 404)
    expect(picture).to_have_js_property("naturalHeight", 303)
    axe(page)
    away.silent = False
    with page.expect_response("**/small/**") as answer:
        page.clock.run_for(25_000)
    assert answer.value.status == 200
    expect(picture).to_have_js_property("naturalWidth", 400)


def test_nobody_marks_or_measures_a_picture_that_is_away(open_as, applicator, photo, away):
    page = open_as(applicator, reverse("photos:measure", args=[photo.pk]))
    expect(page.get_by_role("alert")).to_contain_text("not reachable just now")
    assert page.locator("svg.stage").evaluate("one => one.inert")
    away.silent = False
    page.reload()
    expect(page.locator("svg.stage")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)

"""Measuring by many courses in real Chromium: the answer beside the picture, nothing guessed."""

import io
import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness.actions.photos.keeping import add_photo
from readiness.facts import run_facts
from readiness.models import Business, Photo, PhotoMeasurement
from tests.browser.conftest import DESK, PHONE, SIZES
from tests.factories import make_runs, make_site
from tests.photos.of_walls import photo_bytes, places
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def site(builder):
    found = make_site(builder)
    make_runs(found)
    return found


@pytest.fixture
def wall_photo(applicator, site):
    return add_photo(applicator, site, io.BytesIO(photo_bytes()), filename="north.jpg")


def measuring(open_as, user, photo, size=PHONE):
    return open_as(user, reverse("photos:measure", args=[photo.pk]), size)


def mark(page, place, held_ms=0):
    """Set a mark at a share of the picture as it is shown now."""
    page.locator(".stage").scroll_into_view_if_needed()
    box = page.locator(".stage").bounding_box()
    left, top, width, height = map(float, page.locator(".stage").get_attribute("viewBox").split())
    image = page.locator(".stage image")
    whole = [float(image.get_attribute(name)) for name in ("width", "height")]
    scale = min(box["width"] / width, box["height"] / height)
    edge = [
        (box[name] - shown * scale) / 2 for name, shown in (("width", width), ("height", height))
    ]
    x = box["x"] + edge[0] + (place[0] * whole[0] - left) * scale
    y = box["y"] + edge[1] + (place[1] * whole[1] - top) * scale
    page.mouse.move(x, y)
    page.mouse.down()
    if held_ms:
        page.wait_for_timeout(held_ms)
    page.mouse.up()


def choose(page, words):
    page.locator("label.form-check", has_text=words).click()


def is_in_view(page, selector) -> bool:
    box, size = page.locator(selector).bounding_box(), page.viewport_size
    return box["y"] >= -1 and box["y"] + box["height"] <= size["height"] + 1


SQUARE = ((0.2, 0.2), (0.6, 0.2), (0.6, 0.6), (0.2, 0.6), (0.3, 0.3), (0.3, 0.5))


@SIZES
@pytest.mark.parametrize("shape", [(1600, 1200), (1200, 1600)], ids=["wide", "tall"])
def test_the_answer_is_in_view_beside_the_whole_picture(open_as, applicator, site, size, shape):
    photo = add_photo(applicator, site, io.BytesIO(jpeg(scene(3, shape))), filename="wall.jpg")
    page = measuring(open_as, applicator, photo, size)
    for place in SQUARE:
        mark(page, place)
    page.locator(".segments label", has_text="Straight").click()
    expect(page.locator("[data-result]")).to_contain_text("give or take")
    for selector in (".stage", "[data-step]", "[data-result]", "[data-save]"):
        assert is_in_view(page, selector), selector
    picture, said = (page.locator(one).bounding_box() for one in (".stage", ".measure-answer"))
    assert picture["y"] + picture["height"] <= said["y"] + 1, "the answer covers the picture"
    least = min(
        page.locator(selector).bounding_box()["height"]
        for selector in (".segments label >> nth=0", "[data-save]", "[data-undo]")
    )
    assert least >= 44


def test_which_distance_is_asked_and_nothing_is_answered_before(
    open_as, applicator, wall_photo, axe
):
    page = measuring(open_as, applicator, wall_photo)
    for place in SQUARE:
        mark(page, place)
    expect(page.locator("[data-step]")).to_have_text("Straight, upright or level?")
    page.wait_for_timeout(800)
    expect(page.locator("[data-result]")).to_be_hidden()
    axe(page)
    page.locator(".segments label", has_text="Level").click()
    expect(page.locator("[data-result]")).to_be_visible()


def test_a_held_loupe_is_told_and_makes_the_answer_surer(open_as, applicator, wall_photo):
    page = measuring(open_as, applicator, wall_photo)
    give_or_take = []
    for held_ms in (0, 650):
        page.locator("[data-again]").click()
        for place in SQUARE:
            mark(page, place, held_ms)
        page.locator(".segments label", has_text="Upright").click()
        said = page.locator("[data-result]", has_text="give or take")
        give_or_take.append(int(re.search(r"give or take (\d+)", said.inner_text())[1]))
    assert give_or_take[1] < give_or_take[0] * 0.6
    page.locator("[data-save]").click()
    page.wait_for_url(lambda url: not url.endswith("/measure/"))
    marks = PhotoMeasurement.objects.get().marks
    assert marks["version"] == 2
    assert all(how["loupe"] and how["zoom"] == 1 for how in marks["set"])


def test_a_gauge_is_measured_by_a_tape_and_taken_for_the_wall(
    open_as, applicator, site, wall_photo, axe
):
    page = measuring(open_as, applicator, wall_photo)
    choose(page, "The gauge")
    page.fill("#many", "12")
    page.fill("#length_mm", "1000 mm")
    for place in places():
        zoom_to(page, place)
        mark(page, place, 600)
        page.evaluate("() => window.scrollTo(0, 0)")
    said = page.locator("[data-result]", has_text="One course: 8")
    expect(said).to_contain_text("12 courses in 10")
    expect(page.locator("[data-rests-on]")).to_contain_text("the 1000 mm between your two ends")
    axe(page)
    page.select_option("#gauge_of", label="South wall")
    page.locator("[data-save]").click()
    page.wait_for_url(lambda url: not url.endswith("/measure/"))
    gauge = run_facts(site.wall_runs.get(label="South wall")).gauge
    assert (gauge.courses, gauge.measured, gauge.from_photo) == (12, True, True)
    assert gauge.height_mm == pytest.approx(1032, abs=8)


def zoom_to(page, place):
    """Pinch with the wheel at a place, as with two fingers, from the whole picture."""
    for _step in range(6):
        page.locator("[data-zoom-out]").click()
    page.locator(".stage").scroll_into_view_if_needed()
    box = page.locator(".stage").bounding_box()
    page.mouse.move(box["x"] + place[0] * box["width"], box["y"] + place[1] * box["height"])
    page.keyboard.down("Control")
    for _step in range(13):
        page.mouse.wheel(0, -100)
    page.keyboard.up("Control")


def test_a_count_that_the_photo_contradicts_is_said_beside_the_picture(
    open_as, applicator, wall_photo
):
    page = measuring(open_as, applicator, wall_photo)
    choose(page, "Many courses")
    page.fill("#many", "11")
    for place in places():
        mark(page, place)
    page.locator(".segments label", has_text="Upright").click()
    expect(page.locator("[data-result]")).to_contain_text("The photo shows 12")
    page.fill("#many", "12")
    expect(page.locator("[data-result]")).to_contain_text("give or take")


@pytest.mark.long
def test_an_open_joint_is_outlined_kept_as_a_circle_and_no_item(
    open_as, applicator, site, wall_photo, axe
):
    Business.current()
    Business.objects.update(outlines_open_joints=True)
    page = measuring(open_as, applicator, wall_photo, DESK)
    choose(page, "Many courses")
    page.fill("#many", "12")
    for place in places():
        mark(page, place)
    page.locator(".segments label", has_text="Upright").click()
    joint = page.locator("[data-outline-list] li")
    expect(joint).to_have_count(1)
    keep = page.locator("[data-keep-outlines]")
    expect(keep).to_be_disabled()
    joint.get_by_role("button", name="Keep").click()
    axe(page)
    keep.click()
    expect(page.locator("[data-outline-state]")).to_have_text("Circled on the photo.")
    (shape,) = Photo.objects.with_originals().get(pk=wall_photo.pk).markup.shapes
    assert shape["kind"] == "circle"
    assert not site.reports.exists()

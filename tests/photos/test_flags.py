"""Fix photos are checked and flagged in plain sentences, never refused."""

import io
from datetime import UTC, datetime, timedelta

import pytest
from PIL import ImageEnhance

from readiness import clock
from readiness.actions.fixing.fixes import report_fixed
from readiness.actions.photos.keeping import add_photo
from readiness.photos.flags import metres_between
from tests.factories import make_issued, make_site

from .pictures import encoded, exif_with, scene

pytestmark = pytest.mark.django_db

ISSUED_AT = datetime(2026, 3, 2, 1, 0, tzinfo=UTC)
SENT_AT = datetime(2026, 3, 4, 3, 0, tzinfo=UTC)
GOOD = {"taken": "2026:03:04 13:20:00", "offset": "+11:00", "model": "Model 5"}


@pytest.fixture
def site(builder):
    return make_site(builder, "VIC", latitude="-37.800000", longitude="145.000000")


@pytest.fixture
def item(site, applicator):
    with clock.at(ISSUED_AT):
        return make_issued(applicator, site).items.get()


def send(user, site, picture=None, *, kind="JPEG", name="fix.jpg", at=SENT_AT, **facts):
    content = encoded(kind, picture or scene(1), exif=exif_with(**{**GOOD, **facts}).tobytes())
    with clock.at(at):
        return add_photo(user, site, io.BytesIO(content), filename=name)


def flags_of(contact, item, *photos):
    with clock.at(SENT_AT):
        report_fixed(contact, item, photos=photos)
    return {flag.code: flag.sentence for photo in photos for flag in photo.flags.all()}


def test_an_ordinary_fix_photo_has_no_flags(contact, site, item):
    assert flags_of(contact, item, send(contact, site, lat=-37.8005, lon=145.0005)) == {}


def test_the_same_file_from_another_site_is_flagged_with_where_it_was(
    contact, applicator, builder, site, item
):
    other = make_site(builder, "VIC", street="9 Currawong Rise", suburb="Mirrin Vale")
    send(applicator, other, at=ISSUED_AT)
    flags = flags_of(contact, item, send(contact, site))
    assert flags == {
        "same_file": "The same file was sent before: 9 Currawong Rise, Mirrin Vale, "
        "on 2 March 2026."
    }


def test_a_near_duplicate_from_another_site_is_flagged(contact, builder, site, item):
    other = make_site(builder, "VIC", street="9 Currawong Rise", suburb="Mirrin Vale")
    send(contact, other, at=ISSUED_AT)
    brighter = ImageEnhance.Brightness(scene(1).resize((900, 675))).enhance(1.1)
    flags = flags_of(contact, item, send(contact, site, brighter))
    assert flags == {
        "near_duplicate": "Looks almost the same as an earlier photo: "
        "9 Currawong Rise, Mirrin Vale, on 2 March 2026."
    }


def test_a_photo_like_that_of_the_defect_asks_to_look_twice(contact, applicator, site, item):
    before = send(applicator, site, at=ISSUED_AT)
    before.item = item
    before.save()
    darker = ImageEnhance.Brightness(scene(1)).enhance(0.9)
    flags = flags_of(contact, item, send(contact, site, darker))
    assert flags["near_duplicate"] == (
        "Looks almost the same as the photo of the defect from 2 March 2026. "
        "Check that it shows the wall after the fix."
    )


def test_two_similar_photos_of_one_fix_are_no_copies_of_each_other(contact, site, item):
    first = send(contact, site)
    second = send(contact, site, ImageEnhance.Brightness(scene(1)).enhance(1.05))
    assert flags_of(contact, item, first, second) == {}


def test_taken_before_the_report_was_issued(contact, site, item):
    flags = flags_of(contact, item, send(contact, site, taken="2026:03:02 11:40:00"))
    assert flags == {
        "taken_before_report": "Taken before the report was issued (2 March 2026 at 12:00): "
        "2 March 2026 at 11:40 by the camera's clock.",
        "taken_long_before_upload": "Sent 2 days after it was taken: 2 March 2026 at 11:40 "
        "by the camera's clock.",
    }


def test_a_camera_without_a_zone_gets_hours_of_slack_and_a_sentence_that_says_so(
    contact, site, item
):
    near = send(contact, site, taken="2026:03:02 10:30:00", offset="")
    assert "taken_before_report" not in flags_of(contact, item, near)


def test_a_zoneless_time_well_before_the_report_says_how_it_was_read(contact, site, item):
    flags = flags_of(contact, item, send(contact, site, taken="2026:02:20 10:30:00", offset=""))
    assert flags["taken_before_report"].endswith(
        "which gives no time zone: read as the site's time."
    )


def test_a_clock_ahead_and_a_missing_time(contact, applicator, site, item):
    ahead = send(contact, site, taken="2026:03:09 10:00:00")
    silent = send(contact, site, scene(2), taken="")
    flags = flags_of(contact, item, ahead, silent)
    assert flags["taken_after_upload"].startswith("The camera's clock is ahead")
    assert flags["no_capture_time"] == "The file does not say when it was taken."


def test_far_from_the_site(contact, site, item):
    flags = flags_of(contact, item, send(contact, site, lat=-37.85, lon=145.02))
    assert flags == {"far_from_site": "Taken about 5.8 km from the site, by the camera's position."}


def test_distance_agrees_with_a_quarter_of_the_equator_and_a_degree_of_latitude():
    # from memory: the mean Earth radius is 6 371 km, so a degree of latitude is 111.19 km
    assert metres_between((0, 0), (0, 90)) == pytest.approx(10_007_543, rel=1e-4)
    assert metres_between((-37, 145), (-38, 145)) == pytest.approx(111_195, rel=1e-4)


def test_edited_and_screenshots(contact, site, item):
    edited = send(contact, site, software="Some Photo Editor 3")
    shot = send(contact, site, scene(3), comment="Screenshot")
    flags = flags_of(contact, item, edited, shot)
    assert flags["edited"] == "Edited after it was taken: the file names “Some Photo Editor 3”."
    assert flags["screenshot"] == "Looks like a screenshot: the file says so."


def test_a_png_without_a_camera_looks_like_a_screenshot(contact, site, item):
    flags = flags_of(contact, item, send(contact, site, kind="PNG", model=""))
    assert "names no camera" in flags["screenshot"]


def test_a_phone_that_writes_its_system_version_is_not_edited(contact, site, item):
    assert flags_of(contact, item, send(contact, site, software="17.1.2")) == {}


def test_sending_days_after_taking(contact, site, item):
    photo = send(contact, site, at=SENT_AT + timedelta(days=6))
    assert flags_of(contact, item, photo)["taken_long_before_upload"].startswith("Sent 6 days")

"""Demo photos: a fix shows another wall, brick is brick, and their Exif is readable."""

import io
import json
import subprocess
from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
from PIL import Image, ImageOps

from readiness.demo import album, camera
from readiness.demo.album import Shot, photo_file
from readiness.demo.stories import STORIES

TAPE_PX = 45  # of a blade 20 to 25 mm wide, beside which a figure is 12 px high
MOST_BYTES = 5_000_000
PICTURES = sorted(path.stem for path in album.FOLDER.glob("*.webp"))
FIXED = [name for name in PICTURES if name.endswith("-fixed")]


def picture(name):
    with Image.open(album.FOLDER / f"{name}.webp") as image:
        return image.convert("RGB")


def pixels(image):
    return np.asarray(image.resize((480, 360)), np.int16)


@pytest.mark.parametrize("name", FIXED)
def test_the_fixed_wall_is_visibly_another_picture(name):
    found, fixed = picture(name.removesuffix("-fixed")), picture(name)

    assert np.abs(pixels(found) - pixels(fixed)).mean() > 3
    assert 40 < pixels(fixed).mean() < 215, "neither black nor burnt out"


def test_what_is_found_is_on_a_wall_such_as_its_picture_shows():
    """Render has its own pictures: brick kinds are found on brick, render kinds on render."""
    of_render = {"render_line_low", "no_struck_joint", "attachment_too_close"}
    for story in STORIES:
        finish = {wall.label: wall.finish for wall in story.lot.house.walls}
        for thing in story.found:
            wanted = "render" if thing.kind in of_render else "face_brick"
            assert finish[thing.wall] == wanted, (story.lot.job_number, thing.kind)


MEASURED = [
    story.lot.shot(thing.kind, ending="-tape" if thing.closer else "").name
    for story in STORIES
    for thing in story.found
    if thing.measured is not None
]


@pytest.mark.parametrize("name", MEASURED)
def test_what_was_measured_with_the_tape_shows_it_large_enough_to_read(name):
    assert width_of_tape(picture(name)) >= TAPE_PX


def width_of_tape(image):
    """The width in px of the largest yellow strip in a picture; 0 where there is none."""
    red, green, blue = np.moveaxis(np.asarray(image).astype(int), 2, 0)
    yellow = (red > 140) & (green > 110) & (blue < 100) & (red - blue > 95) & (green - blue > 70)
    whole = cv2.morphologyEx(yellow.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((15, 15)))
    strips, _ = cv2.findContours(whole, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(strips, key=cv2.contourArea, default=None)
    return 0 if largest is None else min(cv2.minAreaRect(largest)[1])


def test_the_pictures_stay_small():
    assert sum(path.stat().st_size for path in album.FOLDER.iterdir()) < MOST_BYTES


@pytest.mark.parametrize("size", album.SIZES)
def test_a_photo_has_its_size_and_shows_upright(size):
    data = photo_file(Shot(PICTURES[0], size))
    photo = Image.open(io.BytesIO(data))

    assert ImageOps.exif_transpose(photo).size == album.SIZES[size]
    stored = camera.ON_ITS_SIDE if size == "tall" else camera.UPRIGHT
    assert photo.getexif()[camera.ORIENTATION] == stored


@pytest.mark.parametrize("size", ["small", "tall"])
def test_however_it_is_stored_the_picture_is_the_same(size):
    photo = Image.open(io.BytesIO(photo_file(Shot(PICTURES[0], size))))

    shown = ImageOps.exif_transpose(photo)
    assert np.abs(pixels(shown) - pixels(picture(PICTURES[0]))).mean() < 3


def test_exiftool_reads_time_zone_camera_and_position(tmp_path):
    path = tmp_path / "photo.jpg"
    taken_at = datetime(2026, 3, 2, 22, 15, 5, tzinfo=UTC)
    path.write_bytes(
        photo_file(
            Shot(PICTURES[0], "tall"),
            taken_at=taken_at,
            offset="+11:00",
            position=(-33.5125, 150.25),
        )
    )
    run = subprocess.run(["exiftool", "-j", "-n", str(path)], capture_output=True, check=True)
    tags = json.loads(run.stdout)[0]

    assert tags["DateTimeOriginal"] == "2026:03:03 09:15:05"
    assert tags["OffsetTimeOriginal"] == "+11:00"
    assert tags["Make"] == "Fernhill Instruments"
    assert tags["GPSLatitude"] == pytest.approx(-33.5125, abs=1e-5)
    assert tags["GPSLongitude"] == pytest.approx(150.25, abs=1e-5)

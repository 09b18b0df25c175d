"""Demo photos: what is fixed looks it, they repeat, they are to scale, their Exif is readable."""

import io
import json
import subprocess
from datetime import UTC, datetime

import numpy as np
import pytest
from PIL import Image

from readiness.demo import pictures
from readiness.demo.pictures import brickwork, camera
from readiness.rules.defects.catalogue import KINDS

WITH_DEFECTS = sorted(set(pictures.KINDS) & set(KINDS))
"""A kind has a scene once a story or a test shows a photo of it, not before."""

SMALL = {"width_px": 480, "height_px": 360}


def pixels(image):
    return np.asarray(image, np.int16)


@pytest.mark.parametrize("kind", WITH_DEFECTS)
def test_the_fixed_wall_is_visibly_another_picture_of_the_right_size(kind):
    found = pictures.draw(kind, seed=3, **SMALL)
    fixed = pictures.draw(kind, seed=3, fixed=True, **SMALL)

    assert found.size == fixed.size == (480, 360)
    assert np.abs(pixels(found) - pixels(fixed)).mean() > 3
    assert 40 < pixels(found).mean() < 215, "neither black nor burnt out"


def test_the_same_seed_gives_the_same_bytes_and_another_seed_does_not():
    first = pictures.jpeg_bytes("dirty_brick", seed=5, **SMALL)

    assert pictures.jpeg_bytes("dirty_brick", seed=5, **SMALL) == first
    assert pictures.jpeg_bytes("dirty_brick", seed=6, **SMALL) != first


def test_soil_hides_the_foot_of_the_wall_and_the_fix_bares_it():
    """The heap's top stands three courses up: the same place of the wall changes colour."""
    found, view = pictures.draw_to_scale("soil_against_brick", seed=2, **SMALL)
    fixed, other = pictures.draw_to_scale("soil_against_brick", seed=2, fixed=True, **SMALL)

    def colour(image, view_):
        x, y = (round(value) for value in view_.pixel_of(40, 180))
        return pixels(image)[y - 4 : y + 5, x - 4 : x + 5].mean(axis=(0, 1))

    assert np.abs(colour(found, view) - colour(fixed, other)).max() > 25


def test_the_tape_in_the_picture_is_as_long_as_the_view_says():
    """The yellow of the tape, found by colour, is as long as was drawn: 300 mm, 20 in its case."""
    image, view = pictures.draw_to_scale("wall_to_measure", seed=1, width_px=1600, height_px=1200)
    red, green, blue = np.moveaxis(pixels(image), 2, 0)
    yellow = (red > 120) & (green > 0.72 * red) & (blue < 0.5 * red)
    back = np.linalg.inv(view.wall_to_pixel)
    rows, columns = np.nonzero(yellow)
    u, v, w = back @ np.stack([columns, rows, np.ones_like(rows)])
    x, y = u / w, v / w
    on_tape = np.abs(x + 60) < 12

    assert on_tape.sum() > 2000
    seen = np.quantile(y[on_tape], 0.999) - np.quantile(y[on_tape], 0.001)
    assert seen == pytest.approx(280, abs=6)


def test_bricks_are_drawn_at_the_published_size():
    # AS/NZS 4455.1 sizes (from memory): 230 x 76 mm with 10 mm joints, so 240 along and 86 up.
    assert (brickwork.LENGTH_MM, brickwork.GAUGE_MM, brickwork.JOINT_MM) == (240, 86, 10)


@pytest.fixture(scope="module")
def tagged(tmp_path_factory):
    path = tmp_path_factory.mktemp("exif") / "photo.jpg"
    path.write_bytes(
        pictures.jpeg_bytes(
            "clean_wall",
            taken_at=datetime(2026, 3, 2, 22, 15, 5, tzinfo=UTC),
            offset="+11:00",
            position=(-33.5125, 150.25),
            orientation=6,
            **SMALL,
        )
    )
    return path


def test_exiftool_reads_time_zone_camera_and_position(tagged):
    run = subprocess.run(["exiftool", "-j", "-n", str(tagged)], capture_output=True, check=True)
    tags = json.loads(run.stdout)[0]

    assert tags["DateTimeOriginal"] == "2026:03:03 09:15:05"
    assert tags["OffsetTimeOriginal"] == "+11:00"
    assert tags["Make"] == "Fernhill Instruments"
    assert tags["GPSLatitude"] == pytest.approx(-33.5125, abs=1e-5)
    assert tags["GPSLongitude"] == pytest.approx(150.25, abs=1e-5)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_shows_the_same_upright_picture(orientation):
    from PIL import ImageOps

    image = pictures.draw("clean_wall", **SMALL)
    data = camera.encode(image, camera.exif_of(None, None, None, None, orientation), quality=95)
    shown = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))

    assert shown.size == image.size
    assert np.abs(pixels(shown) - pixels(image)).mean() < 3

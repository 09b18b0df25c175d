"""The gauge and lengths from many courses: exact where all is exact, and honest where it is not."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from PIL import Image

from readiness.photos import by_courses, coursing, decoder, joints
from readiness.photos.by_courses import Gauge, Joints, Scale
from readiness.photos.measuring import CannotMeasure, Marks, Measured

from .brickwork import Wall
from .simulated_walls import SIZE_PX, got, marked

SQUARE = ((400.0, 200.0), (1200.0, 200.0), (1200.0, 1060.0), (400.0, 1060.0))
"""Ten courses of 86 mm, seen square at one pixel a mm."""


def all_joints(courses: int = 10, off=0.0) -> Joints:
    """Each joint of SQUARE found in each of 16 strips, `off` mm from where it should be."""
    strips, numbers = np.meshgrid(np.arange(16), np.arange(courses + 1))
    x = 400 + (strips + 0.5) * 50.0
    y = 200 + numbers * 86.0 + off
    places = np.stack([x.ravel(), y.ravel()], -1)
    return Joints(places, numbers.ravel(), strips.ravel(), courses)


def sight(found: Joints, start=(500.0, 250.0), end=(500.0, 1000.0), error_px=1.0, courses=10):
    marks = Marks(SQUARE, start, end, error_px)
    return by_courses.sight_of(marks, SIZE_PX, courses, coursing.focal_of(26), found)


def test_the_gauge_of_an_even_wall_seen_square_is_the_known_length_over_its_courses():
    # 750 pixels of tape over 86 pixels a course: 8.721 courses in 750 mm, so 86 mm each.
    gauge = by_courses.gauge(sight(all_joints()), Scale(Decimal(750), Decimal(1)))
    assert (gauge.courses, gauge.height.value_mm, gauge.by_joints) == (10, 860, True)
    assert gauge.course_mm == 86
    assert gauge.good_enough


def test_a_known_length_along_the_bricks_gives_the_gauge_too():
    flat = sight(all_joints(), (450.0, 600.0), (1150.0, 600.0))
    gauge = by_courses.gauge(flat, Scale(Decimal(700), Decimal(1)))
    assert gauge.height.value_mm == pytest.approx(860, abs=2)


def test_a_length_is_measured_by_the_gauge():
    level = sight(all_joints(), (450.0, 600.0), (1150.0, 700.0))
    course = Scale(Decimal(86), Decimal(1))
    lengths = [by_courses.distance(level, course, way) for way in ("straight", "upright", "level")]
    # 700 along and 100 down: straight 707.1.
    assert [each.value_mm for each in lengths] == pytest.approx([707, 100, 700], abs=2)


def test_an_uneven_wall_is_stated_less_surely():
    random = np.random.default_rng(4)
    off = np.repeat(random.normal(0, 4, 11), 16).reshape(11, 16)
    even = by_courses.gauge(sight(all_joints()), Scale(Decimal(750), Decimal(1)))
    uneven = by_courses.gauge(sight(all_joints(off=off)), Scale(Decimal(750), Decimal(1)))
    assert uneven.height.uncertainty_mm > 1.5 * even.height.uncertainty_mm


def test_a_gauge_is_good_enough_below_a_millimetre_a_course():
    # Ten courses: 9 mm in all is 0.9 a course, 10 mm is one.
    assert Gauge(10, Measured(860, 9), True).good_enough
    assert not Gauge(10, Measured(860, 10), True).good_enough
    assert not Gauge(10, Measured(860, 5), False).good_enough  # nobody checked the count
    assert Gauge(12, Measured(1028, 7), True).give_or_take_mm == 0.6  # 0.583


@pytest.mark.parametrize("counted", [9, 11])
def test_a_count_that_the_photo_contradicts_is_refused(counted):
    with pytest.raises(CannotMeasure, match=f"entered 10 courses. The photo shows {counted}"):
        sight(replace(all_joints(), counted=counted))


def test_a_corner_on_another_joint_than_its_neighbour_is_refused():
    wrong = Marks((*SQUARE[:3], (400.0, 1060.0 - 86)), (500.0, 250.0), (500.0, 900.0), 1.0)
    with pytest.raises(CannotMeasure, match="One corner is not on the same joint"):
        by_courses.sight_of(wrong, SIZE_PX, 10, coursing.focal_of(None), all_joints())


def test_without_joints_it_rests_on_the_marks_and_is_less_sure():
    none = Joints(np.empty((0, 2)), np.empty(0, int), np.empty(0, int), None, fits=False)
    known = Scale(Decimal(750), Decimal(1))
    by_marks = by_courses.gauge(sight(none), known)
    by_joints = by_courses.gauge(sight(all_joints()), known)
    assert not by_marks.by_joints
    assert by_marks.height.value_mm == 860
    assert by_marks.height.uncertainty_mm > by_joints.height.uncertainty_mm


def test_two_ends_in_one_place_are_no_known_length():
    with pytest.raises(CannotMeasure, match="too close together"):
        by_courses.gauge(sight(all_joints(), end=(500.0, 260.0)), Scale(Decimal(9), Decimal(1)))


def test_the_focal_length_is_what_the_camera_says_or_what_phones_have():
    # 26 mm on a film of 43.27 mm across: 2 x 26 / 43.27 = 1.202 half diagonals, 5 % either way.
    low, high = coursing.focal_of(26)
    assert (low, high) == pytest.approx((1.1417, 1.2618), abs=1e-3)
    assert coursing.focal_of(None) == pytest.approx((1.017, 1.618), abs=1e-3)


@pytest.mark.long
def test_gauges_on_drawn_walls_hold_and_most_are_good_enough():
    """The bench has more of them, and a known length along the bricks too."""
    found = got(10, seed=11)
    stated = [each for each in found if each.stated_mm is not None]
    assert len(stated) >= 9
    assert all(each.by_joints for each in stated)
    assert sum(each.holds for each in stated) >= 9
    assert sum(each.give_or_take_mm < 1 for each in stated) >= 5
    assert max(abs(each.stated_mm - each.true_mm) for each in stated) < 2


@pytest.mark.parametrize("said", [-2, -1, 1, 2])
def test_a_wrong_count_is_noticed_on_drawn_walls(said):
    random = np.random.default_rng(31)
    photo = marked(random)
    with pytest.raises(CannotMeasure, match=f"The photo shows {photo.courses}"):
        replace(photo, courses=photo.courses + said).sight()


def test_corners_set_a_quarter_of_a_course_off_snap_to_the_joints():
    photo = marked(np.random.default_rng(8))
    corners = np.array(photo.marks.corners)
    quarter = (corners[3] - corners[0]) / photo.courses / 4
    moved = [corners[0] + quarter, corners[1] - quarter, corners[2] + quarter, corners[3] - quarter]
    marks = replace(photo.marks, corners=tuple(map(tuple, moved)))
    assert replace(photo, marks=marks).gauge().height.value_mm == pytest.approx(
        photo.gauge().height.value_mm, abs=photo.courses
    )


def test_a_picture_without_brickwork_shows_no_joints():
    noise = np.random.default_rng(1).normal(128, 30, (1200, 1600))
    found = joints.find(noise, np.array(SQUARE), 10)
    assert not found.fits


def test_courses_too_small_to_see_are_not_looked_for():
    small = np.array(SQUARE) * [0.1, 0.05]
    assert joints.find(np.zeros((1200, 1600)), small, 10).counted is None


def test_the_decoder_process_finds_the_same(tmp_path):
    photo = marked(np.random.default_rng(5))
    path = tmp_path / "large.jpg"
    Image.fromarray(photo.picture).save(path, "JPEG", quality=100, subsampling=0)
    corners = (np.array(photo.marks.corners) / SIZE_PX).tolist()
    told = decoder.joints(path, corners, photo.courses, open_too=False)
    with Image.open(path) as picture:
        grey = np.asarray(picture.convert("L"), float)
    here = joints.find(grey, np.array(photo.marks.corners), photo.courses)
    assert told["counted"] == photo.courses
    assert told["joints"] == here.joints.tolist()
    assert np.abs(np.array(told["places"]) * SIZE_PX - here.places).max() < 0.01
    assert told["open"] == []


def test_a_file_that_is_no_jpeg_is_refused_by_the_decoder_process(tmp_path):
    path = tmp_path / "large.jpg"
    path.write_bytes(b"\xff\xd8\xff not a picture")
    with pytest.raises(decoder.DecodingError, match="broken"):
        decoder.joints(path, [[0, 0], [1, 0], [1, 1], [0, 1]], 6, open_too=False)


def test_perpends_of_a_drawn_wall_stand_half_a_brick_apart():
    wall = Wall()
    assert wall.perpends(0)[1] - wall.perpends(1)[0] == wall.brick_mm / 2

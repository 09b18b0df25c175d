"""Measuring on photos: against OpenCV on random cameras, and right 95 times in 100."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from readiness.photos import marks_sent, measuring, plane
from readiness.photos.measuring import CannotMeasure, Marks, Measured, measure, verdict

from . import simulated
from .walls import Camera, random_camera, rendered_wall

SIZE_PX = (4000, 3000)
SEEDS = st.integers(0, 2**32 - 1)


@settings(max_examples=200, deadline=None)
@given(SEEDS)
def test_homography_agrees_with_opencv_on_random_cameras(seed):
    """Reference library: OpenCV's getPerspectiveTransform and findHomography."""
    random = np.random.default_rng(seed)
    camera = random_camera(random, SIZE_PX)
    width, height = 480.0, 344.0
    wall = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    seen = camera.project(wall)
    ours = measuring.homography(seen, width, height)
    exact = cv2.getPerspectiveTransform(seen.astype(np.float32), wall.astype(np.float32))
    fitted, _ = cv2.findHomography(seen, wall)
    points = camera.project(random.uniform(-300, 700, (20, 2)))
    by_ours = plane.mapped(ours, points)
    for other, closeness in ((exact, 0.05), (fitted, 1e-3)):
        by_other = cv2.perspectiveTransform(points[None], other.astype(float))[0]
        assert np.abs(by_ours - by_other).max() < closeness


@settings(max_examples=100, deadline=None)
@given(SEEDS)
def test_exact_marks_give_the_exact_distance(seed):
    random = np.random.default_rng(seed)
    camera = random_camera(random, SIZE_PX)
    marks, truth = perfect_marks(camera, random, 480, 344)
    points = np.array([*marks.corners, marks.start, marks.end])
    assume((points >= 0).all() and (points <= SIZE_PX).all())
    found = measure(marks, measuring.known_size(480, 344, 0), SIZE_PX)
    assert abs(found.value_mm - truth) <= 0.51


def perfect_marks(camera: Camera, random, width, height, error_px=1.0):
    """Marks without any error, of a distance near the reference, and the true distance in mm."""
    wall = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    start = random.uniform([-150, -150], [width + 150, height + 150])
    angle, length = random.uniform(0, 2 * np.pi), random.uniform(30, 250)
    end = start + length * np.array([np.cos(angle), np.sin(angle)])
    seen = camera.project(np.array([*wall, start, end]))
    corners = tuple(map(tuple, seen[:4]))
    return Marks(corners, tuple(seen[4]), tuple(seen[5]), error_px), length


def test_what_is_stated_holds_95_times_in_100():
    """Walls out of line by 0 to 10 mm, hands of 0.5 to 3 px, lenses of up to 6 % (the bench has
    1 000 of them, and says by which cell).
    """
    found = simulated.tried(300, seed=20270301)
    assert sum(each.value_mm is None for each in found) <= 15
    # Of 300 trials at a true 95 % fewer than 92.0 % or more than 98.3 % hold with probability 0.01.
    assert 0.92 <= simulated.share(found) <= 0.983
    by_zoom = [each.uncertainty_mm for each in found if each.how == "zoomed in" and each.value_mm]
    assert np.median(by_zoom) < 20


@pytest.mark.parametrize("part", ["wander_mm", "hand_px", "lens"])
def test_what_is_stated_holds_for_even_and_uneven_walls_steady_and_shaky_hands(part):
    """No half of any range is stated far too surely."""
    found = [each for each in simulated.tried(400, seed=7) if each.value_mm is not None]
    found.sort(key=lambda each: getattr(each, part))
    for half in (found[: len(found) // 2], found[len(found) // 2 :]):
        assert simulated.share(half) >= 0.90


def test_the_corners_of_brickwork_are_out_of_line_each_by_itself():
    """With the four corners out of line by 6 mm, 70 % of what was stated held before."""
    random = np.random.default_rng(5)
    reference = measuring.bricks_and_courses(
        2, 4, gauge_mm=measuring.Decimal(86), gauge_is_measured=True
    )
    held = []
    while len(held) < 120:
        camera = random_camera(random, SIZE_PX)
        marks, truth = perfect_marks(camera, random, 480, 344, 1.0)
        wall = np.array([[0, 0], [480, 0], [480, 344], [0, 344]]) + random.uniform(-6, 6, (4, 2))
        seen = np.array([*camera.project(wall), marks.start, marks.end])
        if (seen < 0).any() or (seen > SIZE_PX).any():
            continue
        found = measure(replace(marks, corners=tuple(map(tuple, seen[:4]))), reference, SIZE_PX)
        held.append(abs(found.value_mm - truth) <= found.uncertainty_mm)
    assert np.mean(held) >= 0.92


def test_a_mark_that_was_only_tapped_is_said_to_be_three_times_as_far_off():
    places = [[0.2, 0.2], [0.6, 0.2], [0.6, 0.6], [0.2, 0.6], [0.3, 0.3], [0.3, 0.5]]
    ways = ({}, {"loupe": True}, {"zoom": 3.0}, {"zoom": 3.0, "loupe": True})
    errors = [
        marks_sent.marks_from(simulated.marks_data(places, **way), 1600, 1200).mark_error_px[0]
        for way in ways
    ]
    tap = 1.5 * 1600 / simulated.SHOWN_PX
    assert errors == pytest.approx([tap, tap / 3, tap / 3, max(tap / 9, 1.0)])


@pytest.mark.long
@pytest.mark.parametrize("seed", range(3))
def test_a_rendered_wall_is_measured_from_its_pixels(seed):
    """Corners found by OpenCV in a rendered picture with 1 % lens distortion, not given to us."""
    random = np.random.default_rng(seed)
    picture, camera, targets = rendered_wall(random, (1200, 900), distortion=0.01)
    expected = camera.project(targets).astype(np.float32)
    nearby = expected + random.normal(0, 2, expected.shape).astype(np.float32)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 60, 0.01)
    found = cv2.cornerSubPix(picture, nearby[:, None].copy(), (9, 9), (-1, -1), stop)[:, 0]
    marks = Marks(tuple(map(tuple, found[:4])), tuple(found[4]), tuple(found[5]), 1.0)
    size = np.abs(targets[2] - targets[0])
    reference = measuring.known_size(int(size[0]), int(size[1]), 1)
    truth = float(np.hypot(*(targets[5] - targets[4])))
    result = measure(marks, reference, (1200, 900))
    assert abs(result.value_mm - truth) <= result.uncertainty_mm


def test_upright_and_level_are_the_parts_along_the_reference():
    square = ((100, 100), (500, 100), (500, 500), (100, 500))
    reference = measuring.known_size(200, 200, 1)
    for direction, expected in (("straight", 250), ("level", 150), ("upright", 200)):
        marks = Marks(square, (100, 100), (400, 500), 1.0, direction)
        assert measure(marks, reference, SIZE_PX, lens=0).value_mm == expected


def test_a_smaller_or_worse_reference_gives_a_larger_uncertainty():
    random = np.random.default_rng(3)
    camera = random_camera(random, SIZE_PX)
    marks, _ = perfect_marks(camera, np.random.default_rng(1), 480, 344)
    close = measure(marks, measuring.known_size(480, 344, 1), SIZE_PX)
    worse = measure(marks, measuring.known_size(480, 344, 20), SIZE_PX)
    assert worse.uncertainty_mm > close.uncertainty_mm


def test_the_same_marks_always_give_the_same_answer():
    marks, _ = perfect_marks(
        random_camera(np.random.default_rng(8), SIZE_PX), np.random.default_rng(2), 480, 344
    )
    reference = measuring.one_brick()
    assert measure(marks, reference, SIZE_PX) == measure(marks, reference, SIZE_PX)


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        (((0, 0), (100, 100), (100, 0), (0, 100)), "cross over"),
        (((0, 0), (0, 1), (100, 100), (0, 100)), "same place"),
        (((0, 0), (0, 3.9), (100, 100), (100, 0)), "same place"),
        (((0, 0), (100, 0), (200, 0), (100, 200)), "one line"),
        (((0, 0), (100, 1), (200, 3), (100, 200)), "one line"),
        (((0, 0), (100, 0), (100, 9000), (0, 9000)), "outside the picture"),
        (((0, 0), (100, 0), (100, float("nan")), (0, 90)), "outside the picture"),
    ],
)
def test_corners_that_make_no_rectangle_are_explained(corners, words):
    with pytest.raises(CannotMeasure, match=words):
        measure(Marks(corners, (1, 1), (50, 50), 1), measuring.one_brick(), SIZE_PX)


def test_corners_four_pixels_apart_are_two():
    small = ((0, 0), (0, 4), (100, 100), (100, 0))
    assert measure(Marks(small, (1, 1), (90, 50), 0.01), measuring.one_brick(), SIZE_PX).value_mm


def test_a_point_beyond_the_horizon_is_explained():
    steep = ((1900, 2000), (2100, 2000), (2900, 2900), (1100, 2900))
    with pytest.raises(CannotMeasure, match=r"flat an angle|be told from these marks"):
        measure(Marks(steep, (2000, 2500), (2000, 100), 1), measuring.one_brick(), SIZE_PX)


SQUARE_PX = ((1000, 1000), (2000, 1000), (2000, 2000), (1000, 2000))
"""Corners of 500 mm, so a picture element is half a millimetre."""


@pytest.mark.parametrize(
    ("length_px", "error_px", "stated"),
    [
        (80, 16, "40 mm, give or take 32"),
        (20, 8, "10 mm, give or take 17"),  # of a small thing a little more is said than it is
    ],
)
def test_an_uncertainty_up_to_the_distance_is_stated(length_px, error_px, stated):
    marks = Marks(SQUARE_PX, (1100, 1500), (1100 + length_px, 1500), error_px)
    assert str(measure(marks, measuring.known_size(500, 500, 1), SIZE_PX)) == stated


@pytest.mark.parametrize(("length_px", "error_px"), [(80, 44), (80, 25), (20, 12)])
def test_an_uncertainty_larger_than_the_distance_is_no_measurement(length_px, error_px):
    """Not even where it is a plain number: "40 mm, give or take 60" says nothing."""
    marks = Marks(SQUARE_PX, (1100, 1500), (1100 + length_px, 1500), error_px)
    with pytest.raises(CannotMeasure, match="larger than the distance"):
        measure(marks, measuring.known_size(500, 500, 1), SIZE_PX)


def test_marks_that_may_lie_beyond_the_horizon_are_no_measurement():
    """More than one of twenty draws has no distance at all: no number bounds what it may be."""
    steep = ((1900, 800), (2100, 800), (2900, 1700), (1100, 1700))
    marks = Marks(steep, (2000, 1300), (2000, 705), 8.0)
    with pytest.raises(CannotMeasure, match="be told from these marks"):
        measure(marks, measuring.one_brick(), SIZE_PX)


def test_verdicts_decide_only_outside_the_uncertainty():
    short = verdict(Measured(38, 9), 75, at_least=True)
    assert (short.decides, short.meets) == (True, False)
    assert short.sentence == "38 mm, give or take 9: less than the 75 mm needed."
    close = verdict(Measured(72, 9), 75, at_least=True)
    assert (close.decides, close.meets) == (False, None)
    assert close.sentence == (
        "72 mm, give or take 9: not exact enough to decide 75 mm. Use the tape."
    )
    assert verdict(Measured(90, 9), 75, at_least=True).meets
    assert verdict(Measured(12, 2), 10, at_least=False).decides is False
    assert verdict(Measured(14, 2), 10, at_least=False).meets is False
    assert verdict(Measured(5, 2), 10, at_least=False).meets


def test_references_carry_their_tolerance():
    # NZS 4210:2001 (2.2): a joint is 10 mm, 3 mm either way; four joints add as a square root.
    assumed = measuring.bricks_and_courses(
        1, 4, gauge_mm=measuring.Decimal(86), gauge_is_measured=False
    )
    assert assumed.height_tolerance_mm == 6
    assert assumed.description == "1 brick along and 4 courses up, 240 x 344 mm"
    with pytest.raises(CannotMeasure):
        measuring.known_size(100, 100, 30)
    for width, height in ((0, 100), (100, 0)):
        with pytest.raises(CannotMeasure, match="width, height"):
            measuring.known_size(width, height, 1)

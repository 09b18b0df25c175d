"""From marks on a photo to a distance on the wall in mm, with an honest uncertainty.

Four corners of something of known size in the wall's plane give the plane homography (Hartley and
Zisserman, Multiple View Geometry, 4.1): the one projective map from the picture to the wall. Two
more marks are mapped to the wall and their distance is the value.

The uncertainty is a Monte Carlo propagation (JCGM 101:2008): every mark is moved by the marking
error, the reference's size by its own tolerance, each of its corners by what bricks are laid out
of line, and the lens by the distortion that is tolerated, all at random; the stated half-width
holds 95 of 100 of the results. How steady this hand is and how even this wall, nobody knows: each
draw has its own steadiness and its own evenness, from the whole range of them. It does not cover a
reference that is not in the plane of the wall. `tests/bench/bench_measuring.py` says how often
what is stated comes true.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil, hypot

import numpy as np

from readiness.photos.plane import mapped, mapping_of
from readiness.wording import photos as say
from readiness.wording.refusals import measuring as refusals

DRAWS, SEED = 2000, 20260101  # always the same draws, so results can be repeated
COVERAGE = 0.95
# Distortion that is tolerated: how far a point in the corner of the picture may be moved, as a
# share of its distance from the middle. Phones correct their main lens to well under this, a wide
# one is near it; beside the other errors it adds little.
LENS_SHARE = 0.06
# A fingertip is set to about a pixel and a half of what the eye sees (standard deviation, in CSS
# pixels of the screen); a hand may be three times as steady as that, or half as steady.
TAP_ERROR_PX, STEADIEST, SHAKIEST = 1.5, 1 / 3, 2.0
LOUPE_ZOOM = 3  # of the loupe of `photo-stage.js`
SMALLEST_MARK_ERROR_PX, LARGEST_MARK_ERROR_PX = 0.5, 120.0
# How far from its place in an even bond the corner of a brick may be, in either direction.
BOND_WANDER_MM = 10
BRICK_TOLERANCE_MM = 3
JOINT_TOLERANCE_MM = 3  # NZS 4210:2001 (2.2), a mortar joint is 10 mm, 3 mm either way
MEASURED_GAUGE_TOLERANCE_MM = 1
DIRECTIONS = ("straight", "upright", "level")

Point = tuple[float, float]


class CannotMeasure(Exception):
    """The marks do not give a measurement; the text says what to mark differently."""


@dataclass(frozen=True)
class Reference:
    """Something of known size in the plane of the wall, its tolerances as half-widths in mm.

    ``wander_mm``: each corner by itself may be up to this far from where a rectangle of that size
    has it.
    """

    width_mm: Decimal
    height_mm: Decimal
    width_tolerance_mm: Decimal
    height_tolerance_mm: Decimal
    description: str
    wander_mm: int = 0


@dataclass(frozen=True)
class Marks:
    """Where a person marked, in pixels of the displayed original, from its top left corner.

    ``corners`` go round the reference: top left, top right, bottom right, bottom left.
    ``mark_error_px`` is the standard deviation of one mark in one direction, of all six or of each
    in this order. ``direction`` is ``straight`` (the distance itself), ``upright`` or ``level``
    (its part along the reference's sides).
    """

    corners: tuple[Point, Point, Point, Point]
    start: Point
    end: Point
    mark_error_px: float | tuple[float, ...]
    direction: str = "straight"


@dataclass(frozen=True)
class Measured:
    """A distance on the wall: ``value_mm``, give or take ``uncertainty_mm`` (95 times in 100)."""

    value_mm: int
    uncertainty_mm: int

    def __str__(self) -> str:
        return say.measured(self.value_mm, self.uncertainty_mm)


@dataclass(frozen=True)
class Verdict:
    """Whether a measurement is good enough to decide its rule, and if so how."""

    decides: bool
    meets: bool | None
    sentence: str


def bricks_and_courses(
    bricks: int,
    courses: int,
    *,
    gauge_mm: Decimal,
    gauge_is_measured: bool,
    brick_length_mm: int = 240,
) -> Reference:
    """So many bricks along and courses up, each from an edge to the same edge further on.

    ``gauge_mm`` is one course with its joint, ``brick_length_mm`` one brick with its joint. A
    gauge that was measured over several courses is trusted to 1 mm a course at most; otherwise
    joints may each be 3 mm off, which adds up as a square root.
    """
    if bricks < 1 or courses < 1:
        raise CannotMeasure(refusals.no_bricks())
    per_course = MEASURED_GAUGE_TOLERANCE_MM if gauge_is_measured else JOINT_TOLERANCE_MM
    return Reference(
        width_mm=Decimal(bricks * brick_length_mm),
        height_mm=gauge_mm * courses,
        width_tolerance_mm=_over(JOINT_TOLERANCE_MM, bricks),
        height_tolerance_mm=_over(per_course, courses),
        description=say.bricks_and_courses(
            bricks, courses, bricks * brick_length_mm, round(gauge_mm * courses)
        ),
        wander_mm=BOND_WANDER_MM,
    )


def _over(tolerance_mm: int, count: int) -> Decimal:
    return Decimal(tolerance_mm) * Decimal(count).sqrt()


def one_brick(length_mm: int = 230, height_mm: int = 76) -> Reference:
    """The face of a single brick without joints."""
    face = known_size(length_mm, height_mm, BRICK_TOLERANCE_MM, say.one_brick())
    return replace(face, wander_mm=BRICK_TOLERANCE_MM)


def known_size(width_mm, height_mm, tolerance_mm, name: str = "") -> Reference:
    """A thing whose width and height in mm were typed in, each to the given tolerance."""
    width, height, tolerance = Decimal(width_mm), Decimal(height_mm), Decimal(tolerance_mm)
    if width <= 0 or height <= 0:
        raise CannotMeasure(refusals.reference_without_size())
    if not 0 <= tolerance < min(width, height) / 4:
        raise CannotMeasure(refusals.reference_too_vague())
    return Reference(
        width,
        height,
        tolerance,
        tolerance,
        say.reference(name or say.known_thing(), width, height, tolerance),
    )


def homography(corners: np.ndarray, width_mm, height_mm) -> np.ndarray:
    """The 3 x 3 map from picture to wall (mm, right and down from the first corner).

    ``corners`` has shape (..., 4, 2), in the order of ``Marks``; ``width_mm`` and ``height_mm``
    may be arrays of the leading shape. The result has shape (..., 3, 3) and [2, 2] = 1.
    """
    corners = np.asarray(corners, float)
    return mapping_of(corners, _rectangle(corners.shape[:-2], width_mm, height_mm))


def _rectangle(shape: tuple[int, ...], width_mm, height_mm) -> np.ndarray:
    """Corners (..., 4, 2) of rectangles on the wall, in the order of ``Marks``."""
    width, height = np.broadcast_to(width_mm, shape), np.broadcast_to(height_mm, shape)
    zero = np.zeros(shape)
    along = np.stack([zero, width, width, zero], -1)
    return np.stack([along, np.stack([zero, zero, height, height], -1)], -1)


def measure(
    marks: Marks, reference: Reference, size_px: tuple[int, int], *, lens: float = LENS_SHARE
) -> Measured:
    """The marked distance on the wall. ``size_px`` is the displayed size of the original.

    Raises ``CannotMeasure`` with what to do about it.
    """
    if marks.direction not in DIRECTIONS:
        raise CannotMeasure(refusals.no_direction())
    plain, reach = centred(marks, size_px)
    check_corners(plain[:4] * reach)
    sizes = np.array([float(reference.width_mm), float(reference.height_mm)])
    value = float(_distances(plain, _rectangle((), *sizes), marks.direction))
    if not np.isfinite(value):
        raise CannotMeasure(refusals.angle_too_flat())
    random = np.random.default_rng(SEED)
    moved = bent(random, shaken(random, plain, marks.mark_error_px, reach), lens)
    drawn = _distances(moved, _laid(random, sizes, reference), marks.direction)
    half_width = half_width_of(drawn, value)
    if not np.isfinite(half_width) or half_width > max(value, 20.0):
        raise CannotMeasure(refusals.too_uncertain())
    return Measured(round(value), ceil(half_width * 1.05 + 0.5))


def centred(marks: Marks, size_px: tuple[int, int]) -> tuple[np.ndarray, float]:
    """The six marks (6, 2) from the middle of the picture, in units of its half diagonal, which is
    so many pixels. Raises ``CannotMeasure`` for one that is not in the picture.
    """
    points = np.array([*marks.corners, marks.start, marks.end], float)
    middle, reach = np.array(size_px, float) / 2, hypot(*size_px) / 2
    if not np.isfinite(points).all() or (np.abs(points - middle) > reach * 1.01).any():
        raise CannotMeasure(refusals.mark_outside())
    return (points - middle) / reach, reach


def shaken(random, plain: np.ndarray, error_px, reach: float, draws: int = DRAWS) -> np.ndarray:
    """Marks (n, 2), so many times as hands of every steadiness may have meant them."""
    error = np.clip(error_px, SMALLEST_MARK_ERROR_PX, LARGEST_MARK_ERROR_PX) / reach
    hand = random.uniform(STEADIEST, SHAKIEST, (draws, 1))
    spread = np.broadcast_to(error, len(plain)) * hand
    return plain + random.normal(0, 1, (draws, *plain.shape)) * spread[..., None]


def bent(random, places: np.ndarray, lens: float) -> np.ndarray:
    """Places (draws, n, 2), each draw as a lens of up to that distortion may have shown them."""
    bend = random.uniform(-lens, lens, (len(places), 1, 1))
    return places * (1 + bend * (places**2).sum(-1, keepdims=True))


def _laid(random, sizes: np.ndarray, reference: Reference) -> np.ndarray:
    """Corners on the wall (``DRAWS``, 4, 2): of every size, and each out of line by itself."""
    tolerance = [float(reference.width_tolerance_mm), float(reference.height_tolerance_mm)]
    width, height = (sizes + random.uniform(-1, 1, (DRAWS, 2)) * tolerance).T
    wander = random.uniform(0, reference.wander_mm, (DRAWS, 1, 1))
    return _rectangle((DRAWS,), width, height) + random.uniform(-1, 1, (DRAWS, 4, 2)) * wander


def half_width_of(drawn: np.ndarray, value: float) -> float:
    """How far from ``value`` 95 of 100 draws lie at most; infinite where too many have no value."""
    off = np.abs(drawn - value)
    return float(np.quantile(np.where(np.isfinite(off), off, np.inf), COVERAGE, method="higher"))


def _distances(points: np.ndarray, wall: np.ndarray, direction: str) -> np.ndarray:
    """Distances in mm between the last two of (..., 6, 2) points; ``wall`` is where the first
    four are, (..., 4, 2).
    """
    try:
        mapping = mapping_of(points[..., :4, :], wall)
    except np.linalg.LinAlgError as error:
        raise CannotMeasure(refusals.no_rectangle()) from error
    ends = mapped(mapping, points[..., 4:, :])
    step = np.abs(ends[..., 1, :] - ends[..., 0, :])
    if direction == "level":
        return step[..., 0]
    if direction == "upright":
        return step[..., 1]
    return np.hypot(step[..., 0], step[..., 1])


def check_corners(corners: np.ndarray) -> None:
    """The four corners must go round a convex figure of some size."""
    sides = np.roll(corners, -1, axis=0) - corners
    following = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * following[:, 1] - sides[:, 1] * following[:, 0]
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    if lengths.min() < 4:
        raise CannotMeasure(refusals.corners_alike())
    if not ((turns >= 0).all() or (turns <= 0).all()):
        raise CannotMeasure(refusals.corners_crossed())
    if np.abs(turns / (lengths * np.roll(lengths, -1))).min() < 0.02:
        raise CannotMeasure(refusals.corners_in_line())


def verdict(measured: Measured, needed_mm: int, *, at_least: bool) -> Verdict:
    """Hold a measurement against a rule that asks for at least or at most ``needed_mm``."""
    margin = measured.value_mm - needed_mm
    if abs(margin) <= measured.uncertainty_mm:
        return Verdict(False, None, say.undecided(str(measured), needed_mm))
    more = margin > 0
    text = say.decided(str(measured), needed_mm, more=more, at_least=at_least)
    return Verdict(True, more if at_least else not more, text)

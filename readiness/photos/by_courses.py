"""Measuring by many courses at once: the gauge from a known length, or a length from the gauge.

The grid of `coursing` says how many courses a marked distance stands for. Where the joints were
found in the picture, the grid goes through all of them, and how far each lies off it says how even
this wall is. Where they were not, it rests on the four marks and on what walls are known to do. As
in `measuring`, the uncertainty comes from drawing all of it at random.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

import numpy as np

from readiness.photos.coursing import Grid, grid_of, rectangle
from readiness.photos.measuring import (
    BOND_WANDER_MM,
    LENS_SHARE,
    SEED,
    CannotMeasure,
    Marks,
    Measured,
    bent,
    centred,
    check_corners,
    half_width_of,
    shaken,
)
from readiness.wording.refusals import measuring as refusals

DRAWS = 600  # each goes through all joints again
CORNER_OFF = 0.45  # of a course: a corner further than that from its joint is on another one


@dataclass(frozen=True)
class Joints:
    """Bed joints as the decoder found them: places in pixels of the displayed original (n, 2),
    the number of each from the top, in which upright strip it is, how many courses were counted,
    and whether these are the joints of as many courses as were asked for.
    """

    places: np.ndarray
    joints: np.ndarray
    strips: np.ndarray
    counted: int | None
    fits: bool = True


@dataclass(frozen=True)
class Scale:
    """A length in mm and how far off it may be: a marked length, or one course."""

    mm: Decimal
    tolerance_mm: Decimal


@dataclass(frozen=True)
class Gauge:
    """So many courses are ``height`` high; ``by_joints`` where the joints were found."""

    courses: int
    height: Measured
    by_joints: bool

    @property
    def course_mm(self) -> float:
        return self.height.value_mm / self.courses

    @property
    def give_or_take_mm(self) -> float:
        """Of one course, rounded up to a tenth."""
        return ceil(10 * self.height.uncertainty_mm / self.courses) / 10

    @property
    def good_enough(self) -> bool:
        """A wall's gauge can be taken from it: better than a millimetre a course, and the joints
        that were found bear out how many courses there are.
        """
        return self.by_joints and self.height.uncertainty_mm < self.courses


@dataclass(frozen=True)
class Sight:
    """What is seen of a wall: six marks, the joints found, from the middle of the picture in units
    of its half diagonal (``reach_px``), and from what to what the focal length may be in them.
    """

    marks: np.ndarray
    error_px: float | tuple[float, ...]
    reach_px: float
    courses: int
    focal: tuple[float, float]
    found: Joints | None

    @property
    def grid(self) -> Grid:
        if self.found is None:
            return rectangle(self.marks[:4], self.courses)
        return grid_of(self.marks[:4], self.found.places, self.found.joints)


def sight_of(
    marks: Marks, size_px: tuple[int, int], courses: int, focal: tuple[float, float], found: Joints
) -> Sight:
    """Marks and joints of one picture. Raises ``CannotMeasure`` where they do not fit together."""
    plain, reach = centred(marks, size_px)
    check_corners(plain[:4] * reach)
    if found.counted and found.counted != courses:
        raise CannotMeasure(refusals.other_count(courses, found.counted))
    if not found.fits:
        return Sight(plain, marks.mark_error_px, reach, courses, focal, None)
    places = (found.places - np.array(size_px, float) / 2) / reach
    kept = replace(found, places=places)
    sight = Sight(plain, marks.mark_error_px, reach, courses, focal, kept)
    off = sight.grid.at(plain[:4])[:, 1] - np.array([0, 0, courses, courses])
    if np.abs(off).max() > CORNER_OFF:
        raise CannotMeasure(refusals.corner_off_its_joint())
    return sight


def gauge(sight: Sight, known: Scale) -> Gauge:
    """The gauge, from the marked ends of a known length. Raises ``CannotMeasure``."""
    plain, drawn = _in_courses(sight, "straight")
    if not np.isfinite(plain) or plain < 0.5:
        raise CannotMeasure(refusals.length_too_short())
    random = np.random.default_rng(SEED + 1)
    lengths = float(known.mm) + random.uniform(-1, 1, len(drawn)) * float(known.tolerance_mm)
    with np.errstate(divide="ignore", invalid="ignore"):
        heights = sight.courses * lengths / drawn
    height = _stated(sight.courses * float(known.mm) / plain, heights)
    return Gauge(sight.courses, height, sight.found is not None)


def distance(sight: Sight, course: Scale, direction: str) -> Measured:
    """The marked distance, from the height of one course. Raises ``CannotMeasure``."""
    plain, drawn = _in_courses(sight, direction)
    random = np.random.default_rng(SEED + 1)
    high = float(course.mm) + random.uniform(-1, 1, len(drawn)) * float(course.tolerance_mm)
    return _stated(plain * float(course.mm), drawn * high)


def _stated(value: float, drawn: np.ndarray) -> Measured:
    half_width = half_width_of(drawn, value)
    if not np.isfinite(half_width) or half_width > max(value, 20.0):
        raise CannotMeasure(refusals.too_uncertain())
    return Measured(round(value), ceil(half_width * 1.05 + 0.5))


def _in_courses(sight: Sight, direction: str) -> tuple[float, np.ndarray]:
    """The distance between the ends in heights of a course: as marked, and drawn at random."""
    plain = _apart(sight.grid, sight.marks[4:], sum(sight.focal) / 2, direction)
    random = np.random.default_rng(SEED)
    marks = shaken(random, sight.marks, sight.error_px, sight.reach_px, DRAWS)
    focal = random.uniform(*sight.focal, len(marks))
    if sight.found is None:
        marks = bent(random, marks, LENS_SHARE)
        grid = _laid(random, marks[:, :4], sight.courses)
        return float(plain), _apart(grid, marks[:, 4:], focal, direction)
    places = np.broadcast_to(sight.found.places, (len(marks), *sight.found.places.shape))
    all_bent = bent(random, np.concatenate([marks, places], 1), LENS_SHARE)
    grid = grid_of(all_bent[:, :4], all_bent[:, 6:], _wandering(random, sight, len(marks)))
    return float(plain), _apart(grid, all_bent[:, 4:6], focal, direction)


def _apart(grid: Grid, ends: np.ndarray, focal, direction: str) -> np.ndarray:
    """How far two ends (..., 2, 2) are apart, in heights of a course."""
    at = grid.at(ends)
    step = np.abs(at[..., 1, :] - at[..., 0, :])
    if direction == "upright":
        return step[..., 1]
    along = step[..., 0] * grid.along_in_courses(focal)
    return along if direction == "level" else np.hypot(along, step[..., 1])


def _laid(random, corners: np.ndarray, courses: int) -> Grid:
    """Grids through corners (draws, 4, 2) that bricks laid out of line, by what walls do."""
    plain = rectangle(corners, courses)
    wide = plain.along_in_courses(np.full(len(corners), 1.5))
    wander = random.uniform(0, BOND_WANDER_MM, (len(corners), 1, 1)) / ONE_COURSE_MM
    off = random.uniform(-1, 1, corners.shape) * wander
    off[..., 0] /= wide[:, None]
    return rectangle(corners, courses, off)


ONE_COURSE_MM = 86  # a standard brick with its joint: only for how much a wander in mm is


def _wandering(random, sight: Sight, draws: int) -> np.ndarray:
    """Numbers of the found joints (draws, n), each draw as uneven as this wall may be.

    Each joint is off as a whole, and again in each strip; how far comes from what the grid leaves
    over, with the doubt that so few joints leave (a scaled inverse chi-squared).
    """
    found = sight.found
    off = sight.grid.at(found.places)[:, 1] - found.joints
    names = np.unique(found.joints)
    means = np.array([off[found.joints == name].mean() for name in names])
    which = np.searchsorted(names, found.joints)
    whole = _spread(random, means, len(names) - FITTED, draws)
    apart = _spread(random, off - means[which], len(off) - len(names), draws)
    of_joint = random.normal(0, 1, (draws, len(names))) * whole[:, None]
    of_strip = random.normal(0, 1, (draws, len(off))) * apart[:, None]
    return found.joints + of_joint[:, which] + of_strip


FITTED = 3  # what a grid takes from joints as wholes: where they begin, how far apart, the taper


def _spread(random, off: np.ndarray, free: int, draws: int) -> np.ndarray:
    """Standard deviations that leave such residuals with that many degrees of freedom."""
    free = max(free, 1)
    return np.sqrt((off**2).sum() / random.chisquare(free, draws))

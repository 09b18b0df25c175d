"""Brickwork in a picture as a grid: which course a place is at, and how far along.

Bed joints are the same height apart, so their lines in a picture fix the plane's horizon: a place
(x, y) from the middle of the picture is at course (a0 + a1 x + a2 y) / (1 + c1 x + c2 y). How far
along it is has the same horizon, and comes from the sides of what was marked. With numpy alone:
the decoder process uses this too.
"""

from dataclasses import dataclass

import numpy as np

from readiness.photos.plane import mapping_of

FILM_DIAGONAL_MM = 43.27  # of a picture 36 mm wide and 24 mm high: what "35 mm equivalent" means
LEAST_COURSES, MOST_COURSES = 6, 20


@dataclass(frozen=True)
class Grid:
    """``rows`` (..., 3, 3) take a place (x, y, 1) to (along, course, 1), both over the third.

    ``along`` is 0 on the left side of what was marked and 1 on the right; courses go down.
    """

    rows: np.ndarray

    def at(self, places: np.ndarray) -> np.ndarray:
        """(along, course) of places (..., n, 2)."""
        spread = np.concatenate([places, np.ones((*places.shape[:-1], 1))], -1)
        found = spread @ np.swapaxes(self.rows, -1, -2)
        return found[..., :2] / found[..., 2:]

    def places(self, at: np.ndarray) -> np.ndarray:
        """Where (along, course) pairs (n, 2) are in the picture."""
        spread = np.concatenate([at, np.ones((len(at), 1))], -1) @ np.linalg.inv(self.rows).T
        return spread[:, :2] / spread[:, 2:]

    def along_in_courses(self, focal) -> np.ndarray:
        """How many courses high the marked length is, by a lens of that focal length (in the unit
        of places): level and upright are at right angles, and pixels are square.
        """
        columns = np.linalg.inv(self.rows)
        scale = np.ones((*np.shape(focal), 3))
        scale[..., :2] = 1 / np.asarray(focal)[..., None]
        along = np.linalg.norm(columns[..., :, 0] * scale, axis=-1)
        return along / np.linalg.norm(columns[..., :, 1] * scale, axis=-1)


def grid_of(corners: np.ndarray, places: np.ndarray, courses: np.ndarray) -> Grid:
    """The grid through corners (..., 4, 2) and places (..., n, 2) on bed joints of that number
    (..., n), by least squares.
    """
    x, y = places[..., 0], places[..., 1]
    one = np.ones_like(x)
    design = np.stack([one, x, y, -courses * x, -courses * y], -1)
    solved = _least_squares(design, courses)
    weight = 1 / (1 + solved[..., 3, None] * x + solved[..., 4, None] * y)
    solved = _least_squares(design * weight[..., None], courses * weight)
    horizon = np.stack([solved[..., 3], solved[..., 4], np.ones_like(solved[..., 0])], -1)
    course = np.stack([solved[..., 1], solved[..., 2], solved[..., 0]], -1)
    spread = np.concatenate([corners, np.ones((*corners.shape[:-1], 1))], -1)
    depth = (spread @ horizon[..., None])[..., 0]
    along = _least_squares(spread / depth[..., None], np.broadcast_to(SIDES, depth.shape))
    return Grid(np.stack([along, course, horizon], -2))


SIDES = np.array([0.0, 1.0, 1.0, 0.0])


def rectangle(corners: np.ndarray, courses: int, off: np.ndarray | float = 0.0) -> Grid:
    """The grid through corners alone: (..., 4, 2), that many courses high and a rectangle.

    ``off`` (..., 4, 2) is how far each corner is from its place on the wall, in units of the grid.
    """
    wall = np.stack([SIDES, np.array([0.0, 0.0, 1.0, 1.0]) * courses], -1)
    return Grid(mapping_of(corners, np.broadcast_to(wall, corners.shape) + off))


def _least_squares(design: np.ndarray, right: np.ndarray) -> np.ndarray:
    turned = np.swapaxes(design, -1, -2)
    return np.linalg.solve(turned @ design, (turned @ right[..., None]))[..., 0]


def focal_of(focal_35_mm: float | None) -> tuple[float, float]:
    """From what to what the focal length may be, in half diagonals of the picture.

    Where the camera does not say: what main lenses of phones have.
    """
    low, high = (0.95 * focal_35_mm, 1.05 * focal_35_mm) if focal_35_mm else (22.0, 35.0)
    return 2 * low / FILM_DIAGONAL_MM, 2 * high / FILM_DIAGONAL_MM

"""Finding the bed joints of brickwork in a picture, between four marked corners.

The marked part is laid flat by its corners, and cut into upright strips. In each strip joints show
as narrow bands, lighter or darker than brick, at even distances. What is found is places on bed
joints with their numbers; the grid through them is `coursing`'s. Runs in the decoder process: numpy
and Pillow, no Django.
"""

from dataclasses import dataclass, replace

import numpy as np

from readiness.photos.coursing import Grid, grid_of, rectangle

STRIPS, STRIP_PX = 16, 24
ROWS_A_COURSE = 40
JOINT_SHARE = 0.12  # of a course: 10 of 86 mm
LEAST_PX_A_COURSE = 7
# Of a course: where a joint is looked for, at first and again, and how far off it may be.
SEARCH, AGAIN, NEAR = 0.3, 0.2, 0.12
# Of the joints in all strips so many have to be found, and of each but one in so many strips.
MOSTLY, LEAST_STRIPS, LEAST_FOR_ONE_MISSING = 0.6, 4, 6
EVEN = 1.6  # how much larger one course may look than another in a strip
CLEAR = 2.5  # how many times a joint stands out of what else the strip shows


@dataclass(frozen=True)
class Found:
    """Places (n, 2) on bed joints, the number of each from the top, and in which strip it is.

    ``counted`` is how many courses the picture itself shows between the corners; ``fits``, whether
    these are the joints of as many courses as were asked for.
    """

    places: np.ndarray
    joints: np.ndarray
    strips: np.ndarray
    counted: int | None
    grid: Grid | None = None
    fits: bool = False

    def share(self, courses: int) -> float:
        """How much of all that there is to find was found."""
        return len(self.joints) / (STRIPS * (courses + 1))

    def missing(self, courses: int) -> int:
        """How many joints were found in too few strips."""
        found = np.bincount(self.joints, minlength=courses + 1)
        return int((found < LEAST_STRIPS).sum())


def scaled(corners: list, size_px: np.ndarray) -> np.ndarray:
    """Corners as shares of a picture, in its pixels."""
    return np.array(corners, float) * size_px


def sampled(grey: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Grey values at places (..., 2) in pixels, between the four nearest; the edge goes on."""
    height, width = grey.shape
    x = np.clip(places[..., 0] - 0.5, 0, width - 1.001)
    y = np.clip(places[..., 1] - 0.5, 0, height - 1.001)
    left, top = x.astype(int), y.astype(int)
    dx, dy = x - left, y - top
    upper = grey[top, left] * (1 - dx) + grey[top, left + 1] * dx
    lower = grey[top + 1, left] * (1 - dx) + grey[top + 1, left + 1] * dx
    return upper * (1 - dy) + lower * dy


def flattened(grey: np.ndarray, grid: Grid, along: np.ndarray, course: np.ndarray) -> np.ndarray:
    """The picture at each (course, along) of a grid, as rows and columns."""
    across, down = np.meshgrid(along, course)
    places = grid.places(np.stack([across.ravel(), down.ravel()], -1))
    return sampled(grey, places).reshape(across.shape)


def find(grey: np.ndarray, corners: np.ndarray, courses: int) -> Found:
    """Bed joints 0 (the top edge) to ``courses`` (the bottom edge) of what four corners (4, 2) in
    pixels enclose, from the top left one round.

    Looked for twice: near where the corners say they are, then nearer by what was found.
    """
    marked = rectangle(corners, courses)
    if _px_a_course(marked, courses) < LEAST_PX_A_COURSE:
        return Found(np.empty((0, 2)), np.empty(0, int), np.empty(0, int), None)
    bands = _bands(grey, marked, courses)
    found = _fitted(corners, marked, _peaks(bands, courses, SEARCH))
    counted = _count(bands, courses)
    if found.grid is None:
        return replace(found, counted=counted)
    bands = _bands(grey, found.grid, courses)
    found = _fitted(corners, found.grid, _peaks(bands, courses, AGAIN))
    fits = _fit(found, courses, is_counted=counted == courses)
    # Corners on different joints are counted wrongly; the grid through all joints is not.
    return replace(found, counted=_count(bands, courses) if fits else counted, fits=fits)


def _fit(found: Found, courses: int, *, is_counted: bool) -> bool:
    """Are these the joints of so many courses? Nearly all of them have to be there.

    A grid of one course too few or too many fits some joints well and leaves others out: one may
    be missing only among many, or where the picture was counted the same (``is_counted``).
    """
    if found.share(courses) < MOSTLY:
        return False
    most = 1 if is_counted or courses >= LEAST_FOR_ONE_MISSING else 0
    return found.missing(courses) <= most


def _fitted(corners: np.ndarray, grid: Grid, peaks) -> Found:
    """What was found by that grid, with the grid through it; without what lies off even courses."""
    strips, joints, at = peaks
    places = grid.places(np.stack([(strips + 0.5) / STRIPS, at], -1))
    kept = _even(corners, places, joints)
    places, joints, strips = places[kept], joints[kept], strips[kept]
    through = grid_of(corners, places, joints) if kept.any() else None
    return Found(places, joints, strips, None, through)


def _px_a_course(grid: Grid, courses: int) -> float:
    ends = grid.places(np.array([[0.5, 0.0], [0.5, float(courses)]]))
    return float(np.hypot(*(ends[1] - ends[0]))) / courses


def _smoothed(profiles: np.ndarray, width: int) -> np.ndarray:
    """The mean over ``width`` (odd) neighbouring rows of each profile (strips, rows)."""
    padded = np.pad(profiles, ((0, 0), (width // 2, width // 2)), mode="edge")
    summed = np.cumsum(np.pad(padded, ((0, 0), (1, 0))), axis=1)
    return (summed[:, width:] - summed[:, :-width]) / width


def _bands(grey: np.ndarray, grid: Grid, courses: int) -> np.ndarray:
    """How much each row of each strip is a joint, joints up: deviations of its strip are about 1.

    Rows go from half a course above the top edge to half a course under the bottom one.
    """
    rows = np.arange(-ROWS_A_COURSE // 2, courses * ROWS_A_COURSE + ROWS_A_COURSE // 2 + 1)
    along = (np.arange(STRIPS * STRIP_PX) + 0.5) / (STRIPS * STRIP_PX)
    flat = flattened(grey, grid, along, rows / ROWS_A_COURSE)
    profiles = flat.reshape(len(rows), STRIPS, STRIP_PX).mean(-1).T
    plain = profiles - _smoothed(profiles, ROWS_A_COURSE + 1)
    narrow = _smoothed(plain, 2 * round(JOINT_SHARE * ROWS_A_COURSE / 2) + 1)
    narrow /= np.maximum(narrow.std(axis=1, keepdims=True), 0.5)
    # Joints are narrow: what lies far on one side of the rest is theirs.
    return narrow if (narrow**3).mean() > 0 else -narrow


def _count(bands: np.ndarray, courses: int) -> int | None:
    """How many courses there are between the edges: what most strips show that show even ones."""
    half = ROWS_A_COURSE // 2
    length = bands.shape[1] - 1 - 2 * half
    counts = [_count_in(strip, half, length) for strip in bands]
    seen = [count for count in counts if count]
    if len(seen) < STRIPS // 4:
        return None
    common = max(set(seen), key=seen.count)
    return common if seen.count(common) * 2 > len(seen) else None


def _count_in(strip: np.ndarray, first: int, length: int) -> int | None:
    """The courses of one strip from its row ``first`` on, or None where they are not even."""
    bar = max(1.0, CLEAR * float(np.median(np.abs(strip))))
    reach = ROWS_A_COURSE // 4
    around = np.lib.stride_tricks.sliding_window_view(np.pad(strip, reach), 2 * reach + 1)
    rows = np.flatnonzero((strip == around.max(axis=1)) & (strip > bar))
    if len(rows) < 3:
        return None
    apart = np.median(np.diff(rows))
    near_edge = 0.45 * apart
    inner = rows[(rows > first + near_edge) & (rows < first + length - near_edge)]
    steps = np.diff(inner)
    if len(inner) < 2 or steps.max() > EVEN * steps.min():
        return None
    ends = (inner[0] - first, first + length - inner[-1])
    if max(ends) > EVEN * np.median(steps):
        return None
    return len(inner) + 1


def _peaks(
    bands: np.ndarray, courses: int, search: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Strip, joint and course of what stands out near each joint of each strip."""
    reach = round(search * ROWS_A_COURSE)
    centres = np.arange(courses + 1) * ROWS_A_COURSE + ROWS_A_COURSE // 2
    windows = centres[:, None] + np.arange(-reach, reach + 1)
    near = bands[:, windows]  # strips, joints, rows
    top = near.argmax(-1)
    strips, joints = np.indices(top.shape)
    inside = (top > 0) & (top < 2 * reach)
    clear = near.max(-1) > np.maximum(1.0, CLEAR * np.median(np.abs(bands), axis=1)[:, None])
    kept = inside & clear
    strips, joints, top = strips[kept], joints[kept], top[kept]
    row = windows[joints, top]
    before, at, after = (bands[strips, row + step] for step in (-1, 0, 1))
    bow = np.minimum(before - 2 * at + after, -1e-9)
    exact = row + np.clip((before - after) / (2 * bow), -0.5, 0.5)
    return strips, joints, (exact - ROWS_A_COURSE // 2) / ROWS_A_COURSE


def _even(corners: np.ndarray, places: np.ndarray, joints: np.ndarray) -> np.ndarray:
    """Which places lie on even courses: those that do not are left out one round after another."""
    kept = np.ones(len(joints), bool)
    for tolerance in (0.3, 0.2, NEAR, NEAR):
        if len(set(joints[kept])) < 4 or kept.sum() <= 8:
            return np.zeros(len(joints), bool)
        grid = grid_of(corners, places[kept], joints[kept])
        off = grid.at(places)[:, 1] - joints
        kept = np.abs(off - np.median(off[kept])) < tolerance
    return kept

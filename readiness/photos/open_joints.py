"""Joints that look open: much darker than mortar and brick around them, by the grid of `joints`.

An experiment: what is found is outlined for a person, who says what it is. It takes a weep hole
for an open perpend, as it is one. A dark line through courses above each other is left out: in
brickwork perpends do not stand in one line, so it is a movement joint, a pipe or a shadow. Runs in
the decoder process.
"""

import numpy as np

from readiness.photos.coursing import Grid
from readiness.photos.joints import flattened

ROWS = 32  # of the flattened picture, a course; as many columns to the same length
MOST_COLUMNS = 2400
BESIDE = 0.16  # of a course: how far from its line a bed joint may run
HALF_JOINT = 0.04  # of a course: the narrowest part of a joint that has to be dark
DARK = 0.55  # of the darker of brick and mortar around it
SHORTEST_BED, WIDEST_PERPEND = 0.6, 0.45  # of a course
AROUND = 6  # quarters of a course
IN_LINE, IN_A_ROW = 0.2, 3  # a dark upright line through so many courses is no perpend


def find(grey: np.ndarray, grid: Grid | None, courses: int) -> list[np.ndarray]:
    """Outlines (4, 2), in pixels, of what looks open inside the grid."""
    if grid is None:
        return []
    flat, wide = _flat(grey, grid, courses)
    limit = DARK * np.minimum(_brick(flat, courses), _mortar(flat, courses))
    boxes = [*_beds(flat, limit, courses), *_perpends(flat, limit, courses)]
    return [_outline(grid, box, wide) for box in boxes]


def _flat(grey: np.ndarray, grid: Grid, courses: int) -> tuple[np.ndarray, float]:
    """The brickwork laid flat, half a course more above and below, and its length in courses."""
    middle = grid.places(np.array([[0, courses / 2], [1, courses / 2], [0.5, 0.0], [0.5, courses]]))
    across = np.hypot(*(middle[1] - middle[0]))
    wide = float(across / (np.hypot(*(middle[3] - middle[2])) / courses))
    columns = int(min(max(wide, 1) * ROWS, MOST_COLUMNS))
    course = (np.arange((courses + 1) * ROWS) + 0.5) / ROWS - 0.5
    return flattened(grey, grid, (np.arange(columns) + 0.5) / columns, course), wide


def _brick(flat: np.ndarray, courses: int) -> np.ndarray:
    """How bright brick is in each course, around each column (courses, columns)."""
    rows = flat[ROWS // 2 : ROWS // 2 + courses * ROWS].reshape(courses, ROWS, -1)
    return np.array([_around(course[ROWS // 4 : -ROWS // 4]) for course in rows])


def _mortar(flat: np.ndarray, courses: int) -> np.ndarray:
    """How bright bed joints are: the brighter of those above and below each course."""
    near = round(BESIDE * ROWS / 2)
    middles = [ROWS // 2 + joint * ROWS for joint in range(courses + 1)]
    lines = np.array([_around(flat[at - near : at + near + 1]) for at in middles])
    return np.maximum(lines[:-1], lines[1:])


def _around(rows: np.ndarray) -> np.ndarray:
    """The median of rows around each column, a brick or so either way: shade is not darkness."""
    blocks = np.array_split(rows, max(1, rows.shape[1] // (ROWS // 4)), axis=1)
    plain = np.array([np.median(block) for block in blocks])
    padded = np.pad(plain, AROUND, mode="edge")
    beside = np.lib.stride_tricks.sliding_window_view(padded, 2 * AROUND + 1)
    return np.repeat(np.median(beside, axis=1), [block.shape[1] for block in blocks])


def _runs(dark: np.ndarray) -> list[tuple[int, int]]:
    """Beginnings and ends of the runs of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], dark, [False]]).astype(int)))
    return list(zip(edges[::2], edges[1::2], strict=True))


def _beds(flat: np.ndarray, limit: np.ndarray, courses: int):
    """Dark runs of the bed joints: (course, course, column, column)."""
    near, half = round(BESIDE * ROWS), max(1, round(HALF_JOINT * ROWS))
    for joint in range(courses + 1):
        middle = ROWS // 2 + joint * ROWS
        rows = [
            flat[max(0, at - half) : at + half + 1].max(axis=0)
            for at in range(middle - near, middle + near + 1)
        ]
        darkest = np.min(rows, axis=0)
        bar = limit[max(0, joint - 1) : joint + 1].min(axis=0)
        for start, end in _runs(_closed(darkest < bar, ROWS // 6)):
            if end - start >= SHORTEST_BED * ROWS and not _goes_on(flat, middle, bar, start, end):
                yield joint - BESIDE, joint + BESIDE, start, end


def _goes_on(flat: np.ndarray, middle: int, bar: np.ndarray, start: int, end: int) -> bool:
    """Is it dark above and below as well: a gap, a pipe or a shadow that crosses the joint?"""
    off = round(0.35 * ROWS)
    beside = [flat[row, start:end] for row in (middle - off, middle + off) if 0 <= row < len(flat)]
    return any((rows < bar[start:end]).mean() > 0.3 for rows in beside)


def _perpends(flat: np.ndarray, limit: np.ndarray, courses: int):
    """Dark narrow upright bands, one course high: (course, course, column, column)."""
    found = [
        (course, start, end)
        for course in range(courses)
        for start, end in _runs(_upright(flat, course) < limit[course])
        if 2 * HALF_JOINT * ROWS <= end - start <= WIDEST_PERPEND * ROWS
    ]
    for course, start, end in found:
        if _line_of(found, course, (start + end) / 2) < IN_A_ROW:
            yield course, course + 1, start, end


def _upright(flat: np.ndarray, course: int) -> np.ndarray:
    """Of each column, what most of a course's height is darker than."""
    top = ROWS // 2 + course * ROWS
    return np.quantile(flat[top + ROWS // 4 : top + 3 * ROWS // 4], 0.8, axis=0)


def _line_of(found, course: int, at: float) -> int:
    """How many courses on end have a dark band in line with this one."""
    count = 1
    for step in (-1, 1):
        here, place = course + step, at
        while True:
            beside = [
                (start + end) / 2
                for other, start, end in found
                if other == here and abs((start + end) / 2 - place) <= IN_LINE * ROWS
            ]
            if not beside:
                break
            count, here, place = count + 1, here + step, beside[0]
    return count


def _closed(dark: np.ndarray, gap: int) -> np.ndarray:
    """Gaps of up to so many columns filled."""
    filled = dark.copy()
    for start, end in _runs(~dark):
        if end - start <= gap and start > 0 and end < len(dark):
            filled[start:end] = True
    return filled


def _outline(grid: Grid, box, wide: float) -> np.ndarray:
    top, bottom, start, end = box
    columns = int(min(max(wide, 1) * ROWS, MOST_COLUMNS))
    left, right = start / columns, end / columns
    return grid.places(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))

"""Projective maps between a picture and a flat wall, with numpy alone.

Places have shape (..., n, 2). The decoder process uses this too: no Django here.
"""

import numpy as np


def mapping_of(places: np.ndarray, wall: np.ndarray) -> np.ndarray:
    """The 3 x 3 map that takes four places (..., 4, 2) to four others; [2, 2] is 1.

    Raises ``numpy.linalg.LinAlgError`` where three of them lie in one line.
    """
    x, y = places[..., 0], places[..., 1]
    wall_x, wall_y = wall[..., 0], wall[..., 1]
    one, none = np.ones_like(x), np.zeros_like(x)
    rows_x = np.stack([x, y, one, none, none, none, -x * wall_x, -y * wall_x], -1)
    rows_y = np.stack([none, none, none, x, y, one, -x * wall_y, -y * wall_y], -1)
    matrix = np.concatenate([rows_x, rows_y], -2)
    right = np.concatenate([wall_x, wall_y], -1)[..., None]
    solved = np.linalg.solve(matrix, right)[..., 0]
    shape = solved.shape[:-1]
    return np.concatenate([solved, np.ones((*shape, 1))], -1).reshape(*shape, 3, 3)


def mapped(mapping: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Where a map takes places. Not a number where one lies beyond the horizon."""
    places = np.asarray(places, float)
    spread = np.concatenate([places, np.ones((*places.shape[:-1], 1))], -1)
    found = spread @ np.swapaxes(mapping, -1, -2)
    depth = found[..., 2:]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(depth > 1e-9, found[..., :2] / depth, np.nan)

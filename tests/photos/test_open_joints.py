"""Joints that look open: found where they are, and nothing is outlined on a sound wall."""

import numpy as np
import pytest

from readiness.photos import joints, open_joints

from .brickwork import Wall, camera_at

SIZE_PX = (1600, 1200)


def outlined(wall: Wall, seed: int = 2):
    """Outlines on ten courses of a wall, the grid's course and along of each, and the camera."""
    random = np.random.default_rng(seed)
    camera = camera_at(random, wall, SIZE_PX)
    middle = wall.length_mm / 2
    top, bottom, left, right = wall.beds[8], wall.beds[18], middle - 500, middle + 500
    corners = camera.project(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))
    grey = wall.seen(camera, SIZE_PX).astype(float)
    grid = joints.find(grey, corners, 10).grid
    return open_joints.find(grey, grid, 10), camera


def holds(outline, place) -> bool:
    return bool((outline.min(0) - 8 <= place).all() and (place <= outline.max(0) + 8).all())


def test_an_open_perpend_and_an_open_bed_joint_are_outlined_and_nothing_else():
    wall = Wall(open_beds=[(12, 1100, 1500)], open_perpends=[(14, 1200.0)])
    outlines, camera = outlined(wall)
    bed, perpend = camera.project(
        np.array([[1300, wall.beds[12]], [1200, (wall.beds[14] + wall.beds[15]) / 2]])
    )
    assert len(outlines) == 2
    assert holds(outlines[0], bed)
    assert holds(outlines[1], perpend)


@pytest.mark.parametrize("brick", [75, 110, 150])
def test_a_sound_wall_has_none(brick):
    assert outlined(Wall(brick=brick, seed=brick))[0] == []


def test_a_dark_line_through_courses_above_each_other_is_no_perpend():
    """A movement joint, a pipe or a shadow: in stretcher bond perpends do not stand in line."""
    through = [(course, 1320.0) for course in range(6, 20)]
    assert outlined(Wall(open_perpends=through))[0] == []


def test_without_a_grid_there_is_nothing_to_look_at():
    assert open_joints.find(np.zeros((10, 10)), None, 6) == []

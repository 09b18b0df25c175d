"""On a real photo of brickwork: what is stated holds, joints are found, and none is called open."""

import numpy as np
import pytest

from readiness.photos import joints, open_joints

from . import real_brickwork


def test_what_is_stated_on_the_real_photo_holds():
    found = np.array(real_brickwork.tried(150, seed=2))
    held = np.abs(found[:, 0] - found[:, 1]) <= found[:, 2]
    assert held.mean() >= 0.93


@pytest.mark.parametrize("name", real_brickwork.PATCHES)
def test_its_joints_are_found_and_counted(name):
    corners, courses = real_brickwork.PATCHES[name]
    found = joints.find(real_brickwork.picture(), np.array(corners), courses)
    assert found.counted == courses
    assert found.share(courses) > 0.95
    off = found.grid.at(found.places)[:, 1] - found.joints
    assert off.std() < 0.04  # of a course of 86 mm: 3 mm


@pytest.mark.parametrize("more", [-2, -1, 1, 2])
def test_a_wrong_count_shows(more):
    corners, courses = real_brickwork.PATCHES["upper part"]
    found = joints.find(real_brickwork.picture(), np.array(corners), courses + more)
    assert found.counted == courses
    assert not found.fits


def test_its_gauge_is_right_within_what_is_stated():
    found = np.array(real_brickwork.gauges(8, seed=1))
    assert (found[:, 0] <= found[:, 1]).all()
    assert found[:, 0].max() < 2


@pytest.mark.parametrize("name", real_brickwork.PATCHES)
def test_none_of_its_joints_is_called_open(name):
    corners, courses = real_brickwork.PATCHES[name]
    grey = real_brickwork.picture()
    grid = joints.find(grey, np.array(corners), courses).grid
    assert open_joints.find(grey, grid, courses) == []

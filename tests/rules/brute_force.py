"""The same answers as the solver's, found the slow and obvious way: millimetre by millimetre."""

from fractions import Fraction
from itertools import pairwise


def base_mm(points, x):
    """Level of a profile at x, walking the points."""
    if x <= points[0].distance_mm:
        return Fraction(points[0].level_mm)
    for left, right in pairwise(points):
        if x <= right.distance_mm:
            part = Fraction(x - left.distance_mm, right.distance_mm - left.distance_mm)
            return left.level_mm + part * (right.level_mm - left.level_mm)
    return Fraction(points[-1].level_mm)


def finished_mm(run, x):
    """The highest finished ground between x and x + 1 mm."""
    points = run.ground_finished or run.ground_today
    top = max(base_mm(points, x), base_mm(points, min(x + 1, run.length_mm)))
    if run.ground_finished:
        return top
    return top + sum(
        part.thickness_mm for part in run.finishes_to_come if part.from_mm <= x < part.to_mm
    )


def brute_line(run, values):
    """For each cell the lowest joint that clears every millimetre, or the last under the weeps."""
    pitch, clearance = run.perpend_spacing_mm(values), values["line_above_ground_mm"]
    course = run.gauge_or_default(values).course_mm
    found = []
    for start in range(0, run.length_mm, pitch):
        end = min(start + pitch, run.length_mm)
        needed = max(finished_mm(run, x) for x in range(start, end)) + clearance
        level = Fraction(run.first_bed_joint_mm)
        while level < needed and all(level + course <= row.level_mm for row in run.weep_holes):
            level += course
        found.append(level)
    return found


def brute_shortfall_mm(run, line, x, values):
    """How far finished ground between x and x + 1 mm, with its clearance, is over the line."""
    level = next(part.level_mm for part in line.segments if part.to_mm > x)
    return finished_mm(run, x) + values["line_above_ground_mm"] - level

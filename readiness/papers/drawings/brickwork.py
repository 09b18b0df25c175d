"""What a wall is made of on its elevation: bond, render, weep holes, joints, slab or footing."""

from __future__ import annotations

import math
from itertools import product

from readiness.papers.drawings import svg
from readiness.papers.drawings.face import Face
from readiness.papers.drawings.placed_words import PlacedWords
from readiness.rules.band.bond import UNKNOWN_PERPEND
from readiness.rules.defects.site_checks import hole_positions_mm
from readiness.wording import drawings as say

BRICKS_SHOWN_MAX = 400
THINNEST_BED, THINNEST_PERPEND = 0.9, 0.6
RENDER, STIPPLE_APART = "#f6f6f6", 26
WORDS_SIZE = 11


def wall(face: Face) -> list[str]:
    """The wall down to where its brickwork starts, and what it stands on below that."""
    frame = face.frame
    foot = frame.floor if face.brick_foot is None else face.brick_foot
    wide = frame.right - frame.left
    drawn = [
        svg.rect(
            frame.left, frame.ceiling, wide, foot - frame.ceiling,
            fill=RENDER if face.run.is_rendered else svg.BRICK,
        ),
        *([_stipple(face, foot)] if face.run.is_rendered else _courses(face, foot)),
    ]  # fmt: skip
    if foot < frame.floor:
        drawn.append(svg.rect(frame.left, foot, wide, frame.floor - foot, fill=svg.CONCRETE))
    return drawn


def outline(face: Face) -> str:
    """The edge of the wall as far as it is drawn."""
    frame = face.frame
    return svg.rect(
        frame.left, frame.ceiling, frame.right - frame.left, frame.floor - frame.ceiling,
        fill="none", stroke=svg.INK, stroke_width="1",
    )  # fmt: skip


def foot(face: Face) -> list[str]:
    """Where the brickwork starts, also where soil lies over it."""
    if face.brick_foot is None:
        return []
    return [svg.line(face.frame.left, face.brick_foot, face.frame.right, face.brick_foot, 1.2)]


def _courses(face: Face, foot: float) -> list[str]:
    """Bed joints and perpends in stretcher bond, as thick as they are where that can be seen."""
    frame, course = face.frame, face.course_mm
    datum = face.run.bed_joint_mm or 0
    low_mm = frame.high_mm - (foot - frame.ceiling) / frame.up
    first = math.ceil((low_mm - datum) / course)
    last = math.floor((frame.high_mm - datum) / course)
    joint = max(face.unit.joint_mm * frame.up, THINNEST_BED)
    beds = "".join(
        f"M{svg.num(frame.left)} {svg.num(frame.y(datum + n * course))}H{svg.num(frame.right)}"
        for n in range(first, last + 1)
    )
    drawn = [
        svg.element(
            "path", class_="beds", d=beds, stroke=svg.MORTAR, stroke_width=joint, fill="none"
        )
    ]
    if face.run.length_mm / face.unit.pitch_mm <= BRICKS_SHOWN_MAX:
        drawn += [_perpends(n, datum + n * course, face, foot) for n in range(first - 1, last + 1)]
    return drawn


def _perpends(n: int, level_mm: float, face: Face, foot: float) -> str:
    """The perpends of course n: dashes of a line as thick as the course is high.

    One short path however many bricks there are, which is what screens and papers draw fast.
    """
    frame, half_mm = face.frame, face.unit.pitch_mm / 2
    perpend = face.run.perpend or UNKNOWN_PERPEND
    shift_mm = half_mm * ((n - perpend.above_bed_joint) % 2)
    pitch = face.unit.pitch_mm
    start_mm = (perpend.at_mm + shift_mm) % pitch or pitch
    top = max(frame.y(level_mm + face.course_mm), frame.ceiling)
    bottom = min(frame.y(level_mm), foot)
    if top >= bottom or start_mm >= face.run.length_mm:
        return ""
    thick = max(face.unit.joint_mm * frame.across, THINNEST_PERPEND)
    return svg.element(
        "path",
        class_="perpends",
        d=f"M{frame.x(start_mm) - thick / 2:.2f} {(top + bottom) / 2:.2f}H{frame.right:.2f}",
        stroke=svg.MORTAR,
        stroke_width=f"{bottom - top:.2f}",
        stroke_dasharray=f"{thick:.4g} {pitch * frame.across - thick:.4f}",
        fill="none",
    )


def _stipple(face: Face, foot: float) -> str:
    """Dots that say render: dashes as long as they are wide, shifted from row to row."""
    frame = face.frame
    rows = range(int((foot - frame.ceiling - 3) / (STIPPLE_APART / 2)))
    return svg.element(
        "path",
        d="".join(
            f"M{svg.num(frame.left + 5 + row % 2 * STIPPLE_APART / 2)} "
            f"{svg.num(frame.ceiling + 8 + row * STIPPLE_APART / 2)}H{svg.num(frame.right - 3)}"
            for row in rows
        ),
        stroke=svg.MORTAR,
        stroke_width="1.4",
        stroke_dasharray=f"1.4 {STIPPLE_APART - 1.4:.1f}",
        fill="none",
    )


def weep_holes(face: Face) -> list[str]:
    """Open perpends one brick high; a dashed line where only their level is known."""
    frame, run = face.frame, face.run
    drawn = []
    wide = max(2.4, 10 * frame.across)
    high = (face.course_mm - face.unit.joint_mm) * frame.up
    for row in run.weep_holes:
        bottom = frame.y(row.level_mm)
        holes = "".join(
            f"M{svg.num(frame.x(at) - wide / 2)} {svg.num(bottom)}"
            f"v{svg.num(-high)}h{svg.num(wide)}v{svg.num(high)}Z"
            for at in hole_positions_mm(row, run)
        )
        if holes:
            drawn.append(svg.element("path", d=holes, fill=svg.INK))
        end = run.length_mm if row.to_mm is None else row.to_mm
        drawn.append(
            svg.line(
                frame.x(row.from_mm), bottom, frame.x(end), bottom, 1, stroke_dasharray="2 3"
            )
        )  # fmt: skip
    return drawn


def joints(face: Face) -> list[str]:
    """Vertical joints to be sealed; a crack is dashed."""
    frame, drawn = face.frame, []
    for joint in face.run.joints:
        x, half = frame.x(joint.distance_mm), max(1.6, joint.width_mm * frame.across / 2)
        top, bottom = frame.ceiling, frame.floor
        drawn.append(svg.rect(x - half, top, 2 * half, bottom - top, fill=svg.PAPER))
        dash = "4 3" if joint.kind == "crack" else None
        drawn += [
            svg.line(x + side, top, x + side, bottom, 1.1, stroke_dasharray=dash)
            for side in (-half, half)
        ]
    return drawn


def slab(face: Face) -> list[str]:
    """The top of the slab that this wall stands on."""
    y = face.frame.y(face.run.slab_level_mm)
    return [svg.line(face.frame.left, y, face.frame.right, y, 1, stroke_dasharray="8 3 2 3")]


def slab_words(face: Face, words: PlacedWords) -> None:
    frame, down_mm = face.frame, -face.run.slab_level_mm
    y = frame.y(face.run.slab_level_mm)
    said = [say.short("top_of_slab")]
    if down_mm:
        said.insert(0, say.top_of_slab(down_mm))
    for text, at in product(said, (y - 4, y + 12)):
        if words.put(text, WORDS_SIZE, words.along(frame.left + 4, at)):
            return


def foot_words(face: Face, words: PlacedWords) -> None:
    """Where the brickwork starts, in words under that or over it."""
    if face.brick_foot is None:
        return
    said, right = say.short("brick_starts"), face.frame.right - 4
    for y in (face.brick_foot + 12, face.brick_foot - 4):
        if words.put(said, WORDS_SIZE, words.along(right, y, "end")):
            return


def weep_words(face: Face, words: PlacedWords) -> None:
    """Over each row of weep holes, nearest to its end.

    A row without room for them is left without: it looks like the one beside it.
    """
    for row in face.run.weep_holes:
        end = face.run.length_mm if row.to_mm is None else min(row.to_mm, face.run.length_mm)
        x, y = face.frame.x(end) - 4, face.frame.y(row.level_mm) - 4
        nearest = min(x, face.frame.right - 4)
        words.put(say.short("weep_holes"), WORDS_SIZE, words.along(nearest, y, "end"))

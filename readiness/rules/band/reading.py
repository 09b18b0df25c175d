"""Walls from JSON: every mistake in one sentence, and nothing guessed.

What people read of the schema is in `schema.txt`; a test holds each of its keys against this.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Any

from readiness.rules.band.fields import HIGHEST_MM, Fields, shown
from readiness.rules.band.geometry import (
    STANDARD_COURSE_MM,
    FinishToCome,
    Gauge,
    Opening,
    Perpend,
    Unit,
)
from readiness.rules.band.wall import (
    FEWEST_STEPS,
    LOWEST,
    BandRules,
    Finish,
    House,
    StruckPiece,
    Wall,
    WeepRow,
    joints_of,
)

VERSION = 1

LONGEST_MM = 200_000
MOST_WALLS = 500
MOST_HALF_UNITS = 300_000
"""Of one wall, over all of its joints that may come into question: more would take minutes."""

PREFERENCES = {"lowest": LOWEST, "fewest steps": FEWEST_STEPS}


class Mistakes(ValueError):
    """What is wrong with a file, one sentence each in `sentences`."""

    def __init__(self, sentences: Iterable[str]) -> None:
        self.sentences = tuple(sentences)
        super().__init__(" ".join(self.sentences))


def house_from_text(text: str) -> House:
    """The walls in a JSON text; Mistakes if it is not as the schema has it."""
    try:
        stored = json.loads(text, object_pairs_hook=_object, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise Mistakes([f"This is not JSON: {error.msg} in {place}."]) from error
    except RecursionError as error:
        raise Mistakes(["This is not JSON that we can read: it is nested too deep."]) from error
    except Mistakes:
        raise
    except ValueError as error:
        raise Mistakes(["This is not JSON that we can read: a number is too long."]) from error
    return house_from_json(stored)


def house_from_json(stored: object) -> House:
    """The walls in JSON that was read already; Mistakes if it is not as the schema has it."""
    if not isinstance(stored, dict):
        raise Mistakes(["The file has to hold one JSON object."])
    if "version" not in stored:
        raise Mistakes([f"version is missing; this program reads version {VERSION}."])
    version = stored["version"]
    if isinstance(version, bool) or version != VERSION or not isinstance(version, int):
        raise Mistakes(
            [f"Version {shown(version)} is not known; this program reads version {VERSION}."]
        )
    reader = _Reader()
    house = reader.house(stored)
    if reader.mistakes:
        raise Mistakes(reader.mistakes)
    return house


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise Mistakes([f"The key {shown(twice)} stands twice in one object."])
    return found


def _no_constant(name: str) -> None:
    raise Mistakes([f"{name} is not a number that JSON has."])


class _Reader(Fields):
    """The parts of a file, each with its place."""

    def house(self, stored: dict[str, Any]) -> House:
        self.keys(stored, "", _HOUSE_KEYS, {"render_litres_per_m2"})
        prefer = self.choice(stored, "", "prefer", PREFERENCES)
        render = stored.get("render_litres_per_m2")
        rules = BandRules(
            clearance_mm=self.whole(stored, "", "clearance_mm", 0, 1000),
            courses=self.whole(stored, "", "courses", 1, 50),
            below_ground_mm=self.whole(stored, "", "below_ground_mm", 0, 1000),
            tape_mm=self.whole(stored, "", "tape_mm", 0, 100),
            litres_per_10_m=self.litres(stored, "litres_per_10_m"),
            prefer=PREFERENCES.get(prefer, LOWEST),
            shortest_stretch_mm=self.whole(stored, "", "shortest_stretch_mm", 0, LONGEST_MM),
            render_litres_per_m2=(
                None if render is None else self.litres(stored, "render_litres_per_m2")
            ),
        )
        closed = self.boolean(stored, "", "closed")
        walls = self.parts(stored, "", "walls", self.wall, MOST_WALLS)
        if closed and len(walls) < 3:
            self.mistakes.append("closed is true, but fewer than 3 walls close no house.")
        self.labels(walls)
        return House(rules, tuple(walls), closed)

    def labels(self, walls: list[Wall]) -> None:
        seen: set[str] = set()
        for wall in walls:
            if wall.label and wall.label in seen:
                self.mistakes.append(f"Two walls are called {shown(wall.label)}.")
            seen.add(wall.label)

    def wall(self, stored: dict[str, Any], at: str) -> Wall:
        self.keys(stored, at, _WALL_KEYS, {"ground_finished", "datum_offset_mm"})
        length = self.whole(stored, at, "length_mm", 1, LONGEST_MM)
        finish = self.choice(stored, at, "finish", Finish)
        rendered = finish == Finish.RENDER

        def within(key: str, made: Callable[[dict[str, Any], str, int], Any]) -> tuple[Any, ...]:
            return tuple(self.parts(stored, at, key, lambda part, place: made(part, place, length)))

        unit = self.part(stored, at, "unit", self.unit)
        if unit is None and not rendered and stored.get("unit", "") is None:
            self.mistakes.append(f"{at}unit may be null on render only.")
        wall = Wall(
            label=self.text(stored, at, "label"),
            length_mm=length,
            finish=Finish(finish or Finish.OTHER),
            unit=unit,
            gauge=self.part(stored, at, "gauge", self.gauge),
            bed_joint_mm=self.part(stored, at, "bed_joint", self.bed_joint),
            brick_bottom_mm=self.level_or_none(stored, at, "brick_bottom_mm"),
            perpend=self.part(stored, at, "perpend", self.perpend),
            struck_joint=within("struck_joint", self.struck),
            ground_today=self.points(stored, at, "ground_today", length),
            ground_finished=self.points(stored, at, "ground_finished", length),
            to_come=within("to_come", self.finish_to_come),
            openings=within("openings", self.opening),
            weep_holes=within("weep_holes", self.weep_row),
            datum_offset_mm=self.level(stored, at, "datum_offset_mm", 0),
        )
        self.apart(wall.struck_joint, at, "struck_joint")
        self.apart(wall.openings, at, "openings")
        self.not_under_brick(wall, at)
        self.not_too_far_apart(wall, at)
        return wall

    def not_too_far_apart(self, wall: Wall, at: str) -> None:
        """What has to be looked at is bounded, however strange the numbers are."""
        levels = [
            *(point.level_mm for point in (*wall.ground_today, *wall.ground_finished)),
            *(row.level_mm for row in wall.weep_holes),
        ]
        joints = joints_of(wall, 1)
        if joints is None or wall.unit is None or not levels:
            return
        spread_mm = max(levels) - min(levels) + sum(part.thickness_mm for part in wall.to_come)
        half_units = 2 * wall.length_mm / wall.unit.pitch_mm
        if half_units * spread_mm / joints.course_mm > MOST_HALF_UNITS:
            self.mistakes.append(
                f"{at}ground_today: its levels are too far apart for a wall of this length."
            )

    def not_under_brick(self, wall: Wall, at: str) -> None:
        lowest = wall.brick_bottom_mm
        for place, opening in enumerate(wall.openings):
            threshold = opening.threshold_mm
            if opening.wall_below and None not in (lowest, threshold) and threshold < lowest:  # type: ignore[operator]  # neither is None
                self.mistakes.append(
                    f"{at}openings[{place}] has wall below a threshold that lies under "
                    "brick_bottom_mm."
                )

    def apart(self, parts: Iterable[Any], at: str, key: str) -> None:
        ordered = sorted(parts, key=lambda part: (part.from_mm, part.to_mm))
        for before, after in pairwise(ordered):
            if after.from_mm < before.to_mm:
                self.mistakes.append(f"{at}{key}: two of them overlap at {after.from_mm} mm.")

    def unit(self, stored: dict[str, Any], at: str) -> Unit:
        self.keys(stored, at, ("height_mm", "length_mm", "joint_mm"))
        return Unit(
            height_mm=self.whole(stored, at, "height_mm", 20, 1000, unset=76),
            length_mm=self.whole(stored, at, "length_mm", 50, 2000, unset=230),
            joint_mm=self.whole(stored, at, "joint_mm", 0, 50),
        )

    def gauge(self, stored: dict[str, Any], at: str) -> Gauge:
        self.keys(stored, at, ("height_mm", "courses"))
        courses = self.whole(stored, at, "courses", 1, 500)
        height = self.whole(stored, at, "height_mm", 20, HIGHEST_MM)
        if courses and height and not 20 <= height / courses <= 1050:
            self.mistakes.append(f"{at[:-1]} gives a course that is not from 20 to 1050 mm high.")
        return Gauge(courses or 1, height or STANDARD_COURSE_MM)

    def bed_joint(self, stored: dict[str, Any], at: str) -> int:
        self.keys(stored, at, ("level_mm",))
        return self.level(stored, at, "level_mm")

    def perpend(self, stored: dict[str, Any], at: str) -> Perpend:
        self.keys(stored, at, ("above_bed_joint", "at_mm"))
        return Perpend(
            above_bed_joint=self.whole(stored, at, "above_bed_joint", -1000, 1000),
            at_mm=self.whole(stored, at, "at_mm", 0, LONGEST_MM),
        )

    def struck(self, stored: dict[str, Any], at: str, length: int) -> StruckPiece:
        self.keys(stored, at, ("from_mm", "to_mm", "level_mm"))
        return StruckPiece(*self.extent(stored, at, length), self.level(stored, at, "level_mm"))

    def weep_row(self, stored: dict[str, Any], at: str, length: int) -> WeepRow:
        self.keys(stored, at, ("from_mm", "to_mm", "level_mm"))
        extent = self.extent(stored, at, length, may_be_one=True)
        return WeepRow(*extent, self.level(stored, at, "level_mm"))

    def finish_to_come(self, stored: dict[str, Any], at: str, length: int) -> FinishToCome:
        self.keys(stored, at, ("from_mm", "to_mm", "thickness_mm", "what"))
        thickness = self.whole(stored, at, "thickness_mm", 0, HIGHEST_MM)
        return FinishToCome(
            *self.extent(stored, at, length), thickness, self.text(stored, at, "what")
        )

    def opening(self, stored: dict[str, Any], at: str, length: int) -> Opening:
        self.keys(stored, at, ("from_mm", "to_mm", "threshold_mm", "wall_below"))
        start, end = self.extent(stored, at, length)
        below = stored.get("wall_below")
        if below not in (True, False, None) or isinstance(below, int | float) != isinstance(
            below, bool
        ):
            self.mistakes.append(
                f"{at}wall_below has to be true, false or null; it is {shown(below)}."
            )
            below = None
        threshold = self.level_or_none(stored, at, "threshold_mm")
        return Opening(start, end, threshold_mm=threshold, wall_below=below)


_HOUSE_KEYS = (
    "version", "clearance_mm", "courses", "below_ground_mm", "tape_mm", "litres_per_10_m",
    "prefer", "shortest_stretch_mm", "closed", "walls",
)  # fmt: skip
_WALL_KEYS = (
    "label", "length_mm", "finish", "unit", "gauge", "bed_joint", "brick_bottom_mm", "perpend",
    "struck_joint", "ground_today", "to_come", "openings", "weep_holes",
)  # fmt: skip

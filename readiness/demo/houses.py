"""Two invented house designs: their walls in order round an L-shaped plan, and their levels."""

from __future__ import annotations

from dataclasses import dataclass, field

from readiness.rules.band.geometry import (
    Attachment,
    FinishToCome,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    Perpend,
    Unit,
    WallRun,
    WeepHoles,
)

BED_JOINT_MM = -172
"""A joint two courses under the slab that can be seen on every wall."""
BRICK_BOTTOM_MM = -430
"""Three courses further down the brickwork stands on the rebate of the slab's edge."""
GARAGE_SLAB_MM = -86
WEEPS_MM = 0
TOPSOIL_MM = 100
"""Still to come over the ground as it is before the landscaping."""


@dataclass(frozen=True)
class Wall:
    """One wall of a design: `turn` is the turn at its end, walking with the house on the right."""

    label: str
    length_mm: int
    turn: int = 90
    finish: str = "face_brick"


@dataclass(frozen=True)
class House:
    """A design that a builder builds again and again."""

    name: str
    walls: tuple[Wall, ...]
    labels: tuple[str, ...] = field(init=False)

    def __post_init__(self):
        object.__setattr__(self, "labels", tuple(wall.label for wall in self.walls))


COURTYARD = House(
    "Courtyard 24",
    (
        Wall("Front, bedrooms", 4_800),
        Wall("Porch, left side", 1_200, -90, "render"),
        Wall("Porch, back", 3_000, -90, "render"),
        Wall("Porch, right side", 1_200, 90, "render"),
        Wall("Front, garage", 5_800),
        Wall("Garage side", 9_600),
        Wall("Behind garage", 5_900, -90),
        Wall("Living, side", 6_200),
        Wall("Living, back", 7_700),
        Wall("Tap side", 15_800),
    ),
)

TERRACE = House(
    "Ridgeline 19",
    (
        Wall("Front", 10_000),
        Wall("Garage side", 11_200),
        Wall("Back, laundry", 4_100, -90),
        Wall("Alfresco side", 3_600, 90, "render"),
        Wall("Back, living", 5_300),
        Wall("Bedroom side, back", 6_400, -90),
        Wall("Ensuite step", 600, 90),
        Wall("Bedroom side, front", 8_400),
    ),
)


def _run(wall: Wall, **parts) -> WallRun:
    return WallRun(id="", label=wall.label, length_mm=wall.length_mm, finish=wall.finish, **parts)


def _ground(*points: tuple[int, int]) -> tuple[GroundPoint, ...]:
    return tuple(GroundPoint(distance, level) for distance, level in points)


def brick_levels(wall: Wall, start_mm=-362, end_mm=-350, **parts) -> dict:
    """Levels of a face-brick wall whose ground runs straight from one level to another (mm).

    Standard brick, seven courses measured, and topsoil still to come along all of it.
    """
    given = {
        "unit": Unit(76, 230),
        "gauge": Gauge(7, 602),
        "bed_joint_mm": BED_JOINT_MM,
        "brick_bottom_mm": BRICK_BOTTOM_MM,
        "perpend": Perpend(0, 120),
        "weep_holes": (WeepHoles(WEEPS_MM, spacing_mm=960),),
        "ground_today": _ground((0, start_mm), (wall.length_mm, end_mm)),
        "finishes_to_come": (FinishToCome(0, wall.length_mm, TOPSOIL_MM, "lawn"),),
        "fall_mm": 60,
    }
    return _run(wall, **(given | parts)).levels_as_dict()


def garage_levels(wall: Wall) -> dict:
    """The wall with the garage door: its slab is a course lower, and there is no wall below it."""
    door = Opening(500, wall.length_mm - 500, "garage door", GARAGE_SLAB_MM, wall_below=False)
    return brick_levels(wall, slab_level_mm=GARAGE_SLAB_MM, openings=(door,))


def render_levels(wall: Wall, struck_mm: int | None = -110, **parts) -> dict:
    """Levels of a rendered wall over level ground, with a struck joint (mm); tiles are to come."""
    given = {
        "struck_joint_mm": struck_mm,
        "ground_today": _ground((0, -250), (wall.length_mm, -260)),
        "finishes_to_come": (FinishToCome(0, wall.length_mm, 60, "paving"),),
        "surface": "paving",
        "fall_mm": 40,
    }
    return _run(wall, **(given | parts)).levels_as_dict()


def sound_levels(house: House) -> dict[str, dict]:
    """Levels of every wall, with nothing wrong; the longest walls have their joints."""
    levels = {}
    for wall in house.walls:
        if wall.finish == "render":
            levels[wall.label] = render_levels(wall)
        elif wall.length_mm > 9_000:
            joints = (Joint(distance_mm=wall.length_mm // 2, width_mm=12),)
            levels[wall.label] = brick_levels(wall, joints=joints)
        elif wall.label == "Front, garage":
            levels[wall.label] = garage_levels(wall)
        else:
            levels[wall.label] = brick_levels(wall)
    return levels


def with_high_paving(house: House, label: str) -> dict[str, dict]:
    """The same, but along half of one wall paving is laid, up to 32 mm under the weep holes."""
    wall = next(wall for wall in house.walls if wall.label == label)
    middle = wall.length_mm // 2
    levels = sound_levels(house)
    levels[label] = brick_levels(
        wall,
        ground_today=_ground((0, -362), (middle, -310), (middle, -85), (wall.length_mm, -32)),
        finishes_to_come=(FinishToCome(0, middle, TOPSOIL_MM, "lawn"),),
        joints=(Joint(distance_mm=middle - 600, width_mm=12),),
        openings=(Opening(1_200, 3_000, "laundry door", 0, wall_below=False),),
    )
    return levels


def with_low_render(house: House, label: str, deck_gap_mm: int | None = None) -> dict[str, dict]:
    """The same, but the struck joint of one rendered wall is 40 mm above the ground."""
    wall = next(wall for wall in house.walls if wall.label == label)
    levels = sound_levels(house)
    deck = () if deck_gap_mm is None else (Attachment(wall.length_mm // 2, deck_gap_mm, "deck"),)
    laid = {"ground_today": _ground((0, -190), (wall.length_mm, -190)), "finishes_to_come": ()}
    levels[label] = render_levels(wall, struck_mm=-150, attachments=deck, **laid)
    return levels

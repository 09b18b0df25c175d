"""Small makers of what the rules' command reads, and the answers to it."""

from copy import deepcopy
from typing import Any

from readiness.rules.band.answers import as_json
from readiness.rules.band.judged import judged
from readiness.rules.band.reading import house_from_json

BRICK = {"height_mm": 76, "length_mm": 230, "joint_mm": 10}
BLOCK = {"height_mm": 190, "length_mm": 390, "joint_mm": 10}

# Ground rises 20 mm a metre; joints lie at -258, -172, -86, 0, 86; paving 60 mm from 4 m on.
SAMPLE: dict[str, Any] = {
    "version": 1, "clearance_mm": 75, "courses": 2, "below_ground_mm": 0, "tape_mm": 3,
    "litres_per_10_m": "1.0", "prefer": "lowest", "shortest_stretch_mm": 240, "closed": False,
    "walls": [{
        "label": "A", "length_mm": 6000, "finish": "face_brick",
        "unit": {"height_mm": 76, "length_mm": 230, "joint_mm": 10},
        "gauge": {"height_mm": 86, "courses": 1}, "bed_joint": {"level_mm": -86},
        "brick_bottom_mm": None, "perpend": {"above_bed_joint": 0, "at_mm": 0},
        "struck_joint": [], "ground_today": [[0, -170], [6000, -50]],
        "to_come": [{"from_mm": 4000, "to_mm": 6000, "thickness_mm": 60, "what": "paving"}],
        "openings": [{"from_mm": 2000, "to_mm": 2900, "threshold_mm": 0, "wall_below": False}],
        "weep_holes": [],
    }],
}  # fmt: skip

SAMPLE_ANSWER = {
    "version": 1,
    "walls": [
        {
            "label": "A",
            "verdict": "right",
            "why": [],
            "line": [
                {"from_mm": 0, "to_mm": 240, "level_mm": "-86", "joint": 0},
                {"from_mm": 240, "to_mm": 3960, "level_mm": "0", "joint": 1},
                {"from_mm": 3960, "to_mm": 6000, "level_mm": "86", "joint": 2},
            ],
            "bottom": [
                {"from_mm": 0, "to_mm": 240, "level_mm": "-258", "joint": -2},
                {"from_mm": 240, "to_mm": 4200, "level_mm": "-172", "joint": -1},
                {"from_mm": 4200, "to_mm": 6000, "level_mm": "-86", "joint": 0},
            ],
            "short": [],
            # At 0.24 m the ground is at -165.2: 92.8 over -258. To 0.24 m that is on average 90.4
            # over 240 mm, from there to 2 m (-130, 42 over -172) 24.4 over 1760 mm: 64 640 mm2,
            # 9.696 L in a trench 150 mm wide. From 2.9 m (-112, 60) to 4.2 m (-86, 86): 73 over
            # 1300 mm; to 6 m (-50, 36 over -86): 18 over 1800 mm: 127 300 mm2, 19.095 L.
            "clear": [
                {"from_mm": 0, "to_mm": 2000, "deepest_mm": 93, "at_mm": 240, "litres_of_soil": 10},
                {
                    "from_mm": 2900, "to_mm": 6000, "deepest_mm": 86, "at_mm": 4200,
                    "litres_of_soil": 20,
                },
            ],
            "bare": [],
            # 6 m less 0.9 m of opening.
            "treated_length_mm": 5100,
            # (0.24 x 2 + 2.82 x 2 + 0.24 x 3 + 1.80 x 2) m / 10 / 2
            "litres": "0.522",
        }
    ],
    "corners": [],
}  # fmt: skip
"""`test_sample.py` has the working."""


def wall(*ground: tuple[int, int], **parts: Any) -> dict[str, Any]:
    """6 m of standard brick with joints at -258, -172, -86 (joint 0), 0 and 86, no openings."""
    plain = {"ground_today": [list(point) for point in ground], "to_come": [], "openings": []}
    return deepcopy(SAMPLE["walls"][0]) | plain | parts


def block_wall(*ground: tuple[int, int], **parts: Any) -> dict[str, Any]:
    """6 m of block with joints at -300, -100 (joint 0) and 100."""
    own = {"finish": "block", "unit": BLOCK, "gauge": None, "bed_joint": {"level_mm": -100}}
    return wall(*ground, **(own | parts))


def rendered(*ground: tuple[int, int], struck: Any = ((0, 6000, -90),), **parts: Any) -> dict:
    """6 m of render with its struck joint as (from, to, level)."""
    pieces = [dict(zip(("from_mm", "to_mm", "level_mm"), piece, strict=True)) for piece in struck]
    own = {
        "finish": "render", "unit": None, "gauge": None, "bed_joint": None, "perpend": None,
        "struck_joint": pieces,
    }  # fmt: skip
    return wall(*ground, **(own | parts))


def site(*walls: dict[str, Any], **parts: Any) -> dict[str, Any]:
    """A file of these walls; readings of the ground count as exact unless said otherwise."""
    return SAMPLE | {"tape_mm": 0, "walls": list(walls)} | parts


def answers(stored: dict[str, Any]) -> dict[str, Any]:
    return as_json(judged(house_from_json(stored)))


def answer(one: dict[str, Any], **parts: Any) -> dict[str, Any]:
    """The answer for a single wall."""
    return answers(site(one, **parts))["walls"][0]


def steps(stretches: list[dict[str, Any]]) -> list[tuple[int, int, int | None]]:
    """Stretches as (from, to, joint)."""
    return [(part["from_mm"], part["to_mm"], part["joint"]) for part in stretches]


def codes(found: dict[str, Any]) -> list[str]:
    return [reason["code"] for reason in found["why"]]


def weeps(from_mm: int, to_mm: int, level_mm: int) -> list[dict[str, int]]:
    return [{"from_mm": from_mm, "to_mm": to_mm, "level_mm": level_mm}]


def opening(from_mm: int, to_mm: int, threshold_mm: int | None, wall_below: bool | None):
    return [{
        "from_mm": from_mm, "to_mm": to_mm, "threshold_mm": threshold_mm, "wall_below": wall_below
    }]  # fmt: skip


def finish(from_mm: int, to_mm: int, thickness_mm: int, what: str = "paving") -> dict[str, Any]:
    return {"from_mm": from_mm, "to_mm": to_mm, "thickness_mm": thickness_mm, "what": what}

"""Answers as JSON: exact levels as text, all else in whole mm, rounded on the safe side.

Where a line steps, half a millimetre goes to the side that is treated. Clearances go down,
shortfalls, depths, heights and litres up; treated length goes down. Across an opening without wall
the line of brick is that of the higher side and the bottom that of the lower side, so that both can
be drawn from end to end; nothing is treated there. On render nothing is said of such an opening.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from readiness.rules.band.beside import TooClose, soil_litres
from readiness.rules.band.corners import Corner
from readiness.rules.band.judged import HouseAnswer, WallAnswer, extent
from readiness.rules.band.stretch import Excess, Stretch, joined, whole_ends
from readiness.rules.band.wall import Wall

VERSION = 1
"""The version of the answers' shape; that of what is read is `reading.VERSION`."""


def as_json(answer: HouseAnswer) -> dict[str, Any]:
    """The whole answer as JSON can hold it."""
    return {
        "version": VERSION,
        "walls": [_wall(wall) for wall in answer.walls],
        "corners": [_corner(corner, answer.walls) for corner in answer.corners],
    }


def _wall(answer: WallAnswer) -> dict[str, Any]:
    amounts = answer.amounts
    return {
        "label": answer.wall.label,
        "verdict": answer.verdict,
        "why": [{"code": reason.why, **reason.details} for reason in answer.why],
        "line": _stretches(answer.wall, answer.line, max, goes_early=True),
        "bottom": _stretches(answer.wall, answer.bottom, min, goes_early=False),
        "short": _list(answer.short, _short),
        "clear": _list(answer.clear, _clear),
        "bare": _list(answer.bare, _bare),
        "treated_length_mm": None if amounts is None else math.floor(amounts.length_mm),
        "litres": None if amounts is None else thousandths(amounts.litres),
    }


def _list(
    parts: Iterable[Any] | None, made: Callable[[Any], dict[str, Any]]
) -> list[dict[str, Any]] | None:
    return None if parts is None else [made(part) for part in parts]


def _stretches(
    wall: Wall, parts: Sequence[Stretch], of_two: Callable[..., Stretch], *, goes_early: bool
) -> list[dict[str, Any]]:
    """Stretches with their ends in whole mm; the higher one begins early, or late."""
    whole = joined(parts if wall.is_rendered else _across(wall, parts, of_two))
    if wall.is_rendered:
        return [_sloping(part) for part in whole if part.from_mm < part.to_mm]
    ends = whole_ends(whole, goes_early=goes_early)
    return [
        {"from_mm": start, "to_mm": end, "level_mm": str(part.level_mm), "joint": part.joint}
        for part, (start, end) in zip(whole, ends, strict=True)
        if start < end
    ]


def _sloping(part: Stretch) -> dict[str, Any]:
    """On render, where a bottom goes on from one stretch to the next and may have gaps."""
    return {
        **extent(part.from_mm, part.to_mm),
        "level_mm": str(part.level_mm),
        "to_level_mm": str(part.to_level_mm),
        "joint": None,
    }


def _across(
    wall: Wall, parts: Sequence[Stretch], of_two: Callable[..., Stretch]
) -> Iterator[Stretch]:
    """The stretches from end to end of the wall, openings without wall among them."""
    if not parts:
        return
    if parts[0].from_mm > 0:
        yield replace(parts[0], from_mm=0, to_mm=parts[0].from_mm)
    for left, right in pairwise(parts):
        yield left
        if left.to_mm < right.from_mm:
            chosen = of_two(left, right, key=lambda part: part.level_mm)
            yield replace(chosen, from_mm=left.to_mm, to_mm=right.from_mm)
    yield parts[-1]
    if parts[-1].to_mm < wall.length_mm:
        yield replace(parts[-1], from_mm=parts[-1].to_mm, to_mm=wall.length_mm)


def _short(part: TooClose) -> dict[str, Any]:
    return extent(part.from_mm, part.to_mm) | {
        "by_mm": math.ceil(part.by_mm),
        "at_mm": round(part.at_mm),
        "cause": part.cause,
    }


def _clear(part: Excess) -> dict[str, Any]:
    return extent(part.from_mm, part.to_mm) | {
        "deepest_mm": math.ceil(part.most_mm),
        "at_mm": round(part.at_mm),
        "litres_of_soil": math.ceil(soil_litres(part)),
    }


def _bare(part: Excess) -> dict[str, Any]:
    return extent(part.from_mm, part.to_mm) | {
        "highest_mm": math.ceil(part.most_mm),
        "until": part.tag,
    }


def _corner(corner: Corner, walls: Sequence[WallAnswer]) -> dict[str, Any]:
    lowered, level = corner.lowered, corner.to_level_mm
    return {
        "walls": [walls[corner.one].wall.label, walls[corner.other].wall.label],
        "overlap_mm": None if corner.overlap_mm is None else math.floor(corner.overlap_mm),
        "needed_mm": None if corner.needed_mm is None else math.ceil(corner.needed_mm),
        "lowered": None if lowered is None else walls[lowered].wall.label,
        "to_level_mm": None if level is None else str(level),
    }


def thousandths(exact: Fraction) -> str:
    """Litres to the next mL up, such as "0.522"."""
    whole, rest = divmod(math.ceil(exact * 1000), 1000)
    return f"{whole}.{rest:03}"

"""Where a stepped line must go: the lowest joint in each cell, with stretches long enough.

A cell is the part of a wall run between two perpends. This module knows only cells, joint numbers
and widths; what they mean is in `levels`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

LOWEST = "lowest"
FEWEST_STEPS = "fewest_steps"


@dataclass(frozen=True)
class Stretch:
    """Cells from `start` up to, not including, `end`, all at one joint."""

    start: int
    end: int
    joint: int


def stepped_line(
    wanted: Sequence[int],
    caps: Sequence[int | None],
    widths_mm: Sequence[int],
    shortest_mm: int = 0,
    prefer: str = LOWEST,
) -> list[Stretch]:
    """Choose a joint for each cell: at least `wanted`, never above its cap.

    Where a cell wants more than its cap, the cap is taken. Each stretch is at least `shortest_mm`
    long if the whole run is. `prefer` LOWEST gives the least area under the line, then the fewest
    steps; FEWEST_STEPS the other way round. What must be given up because of caps within one
    stretch is kept as small as can be before either.
    """
    targets = [
        want if cap is None else min(want, cap) for want, cap in zip(wanted, caps, strict=True)
    ]
    plain = _grouped(targets)
    if prefer == LOWEST and _long_enough(plain, widths_mm, shortest_mm):
        return plain
    return _cheapest(targets, caps, widths_mm, shortest_mm, prefer)


def _grouped(targets: Sequence[int]) -> list[Stretch]:
    stretches: list[Stretch] = []
    for cell, joint in enumerate(targets):
        if stretches and stretches[-1].joint == joint:
            stretches[-1] = Stretch(stretches[-1].start, cell + 1, joint)
        else:
            stretches.append(Stretch(cell, cell + 1, joint))
    return stretches


def _long_enough(stretches: Sequence[Stretch], widths_mm: Sequence[int], shortest_mm: int) -> bool:
    return len(stretches) == 1 or all(
        sum(widths_mm[part.start : part.end]) >= shortest_mm for part in stretches
    )


def _cheapest(
    targets: Sequence[int],
    caps: Sequence[int | None],
    widths_mm: Sequence[int],
    shortest_mm: int,
    prefer: str,
) -> list[Stretch]:
    """Dynamic programme over where the last stretch begins."""
    count = len(targets)
    best: list[tuple[tuple[int, ...], Stretch | None] | None] = [None] * (count + 1)
    best[0] = ((0, 0, 0), None)
    for end in range(1, count + 1):
        best[end] = _best_ending(end, best, targets, caps, widths_mm, shortest_mm, prefer)
    return _walk_back(best, count)


def _best_ending(
    end: int,
    best: list,
    targets: Sequence[int],
    caps: Sequence[int | None],
    widths_mm: Sequence[int],
    shortest_mm: int,
    prefer: str,
) -> tuple[tuple[int, ...], Stretch] | None:
    """The cheapest way to cover cells up to `end`; None if no stretch can end there."""
    found = None
    joint, cap, width = None, None, 0
    for start in range(end - 1, -1, -1):
        joint = targets[start] if joint is None else max(joint, targets[start])
        here = caps[start]
        if here is not None:
            cap = here if cap is None else min(cap, here)
        width += widths_mm[start]
        whole_run = start == 0 and end == len(targets)
        if best[start] is None or (width < shortest_mm and not whole_run):
            continue
        level = joint if cap is None else min(joint, cap)
        given_up = sum(max(0, want - level) for want in targets[start:end]) if level < joint else 0
        area = level * width
        own = (given_up, area, 1) if prefer == LOWEST else (given_up, 1, area)
        cost = tuple(a + b for a, b in zip(best[start][0], own, strict=True))
        if found is None or cost < found[0]:
            found = (cost, Stretch(start, end, level))
    return found


def _walk_back(best: list, count: int) -> list[Stretch]:
    stretches: list[Stretch] = []
    while count:
        stretch = best[count][1]
        stretches.append(stretch)
        count = stretch.start
    return _joined(stretches[::-1])


def _joined(stretches: Sequence[Stretch]) -> list[Stretch]:
    """Neighbours at one joint are one stretch."""
    joined: list[Stretch] = []
    for part in stretches:
        if joined and joined[-1].joint == part.joint:
            joined[-1] = Stretch(joined[-1].start, part.end, part.joint)
        else:
            joined.append(part)
    return joined

"""From distances and levels on a wall to places on its elevation."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

SIDE = 8


@dataclass(frozen=True)
class Frame:
    """Turns distances and levels in mm into places on the drawing.

    `side` is what is left beside the wall, `top` over it and `bottom` under it.
    """

    length_mm: int
    low_mm: int
    high_mm: int
    width: float
    height: float
    top: float
    bottom: float
    side: float = SIDE

    @cached_property
    def across(self) -> float:
        """A mm along the wall, drawn."""
        return (self.width - 2 * self.side) / self.length_mm

    @cached_property
    def up(self) -> float:
        """A mm of height, drawn."""
        return (self.height - self.top - self.bottom) / (self.high_mm - self.low_mm)

    @property
    def left(self) -> float:
        """The wall's left end."""
        return self.side

    @property
    def right(self) -> float:
        """The wall's right end."""
        return self.width - self.side

    @property
    def ceiling(self) -> float:
        """How far up the wall is drawn."""
        return self.top

    @property
    def floor(self) -> float:
        """How far down the wall is drawn."""
        return self.height - self.bottom

    def x(self, distance_mm: float | Fraction) -> float:
        return self.side + float(distance_mm) * self.across

    def y(self, level_mm: float | Fraction) -> float:
        return self.top + (self.high_mm - float(level_mm)) * self.up

    def within(self, y: float) -> float:
        """The nearest height to one that is drawn."""
        return min(max(y, self.ceiling), self.floor)

    @property
    def exaggeration(self) -> float:
        """How many times larger heights are drawn than lengths."""
        return self.up / self.across

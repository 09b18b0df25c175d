"""From distances and levels on a wall to places on its elevation."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

LEFT, RIGHT = 8, 8


@dataclass(frozen=True)
class Frame:
    """Turns distances and levels in mm into places on the drawing."""

    length_mm: int
    low_mm: int
    high_mm: int
    width: float
    height: float
    top: float
    bottom: float

    def x(self, distance_mm: float | Fraction) -> float:
        return LEFT + float(distance_mm) * (self.width - LEFT - RIGHT) / self.length_mm

    def y(self, level_mm: float | Fraction) -> float:
        inner = self.height - self.top - self.bottom
        return self.top + (self.high_mm - float(level_mm)) * inner / (self.high_mm - self.low_mm)

    @property
    def exaggeration(self) -> float:
        """How many times larger heights are drawn than lengths."""
        across = (self.width - LEFT - RIGHT) / self.length_mm
        return (self.height - self.top - self.bottom) / (self.high_mm - self.low_mm) / across

"""Hatching: soil to clear by strokes that fall to the right, what is missing by rising ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.papers.drawings import svg


@dataclass(frozen=True)
class Hatch:
    """Strokes at 45 degrees: how far apart their starts are, how thick, and which way they go."""

    class_: str
    apart: int
    wide: float
    rises: bool = False

    def over(self, areas: Sequence[Sequence[svg.Point]], clip: str) -> list[str]:
        """Strokes over areas, clipped to them; `clip` is the id of what clips them."""
        points = [point for area in areas for point in area]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        high = max(ys) - min(ys)
        begin, rise = (max(ys), -high) if self.rises else (min(ys), high)
        starts = range(math.floor(min(xs) - high), math.ceil(max(xs)), self.apart)
        d = "".join(
            f"M{start} {svg.num(begin)}l{svg.num(high)} {svg.num(rise)}" for start in starts
        )
        return [
            svg.element("clipPath", svg.element("path", d=svg.areas(areas)), id=clip),
            svg.element(
                "path", d=d, class_=self.class_, stroke=svg.INK, stroke_width=self.wide,
                fill="none", clip_path=f"url(#{clip})",
            ),
        ]  # fmt: skip

    def in_box(
        self, left: float, top: float, wide: float, high: float, first: int | None = None
    ) -> list[tuple[svg.Point, svg.Point]]:
        """Strokes from edge to edge of a box; the first starts as far from its left as asked."""
        ends = []
        first = math.floor(-high) if first is None else first
        for start in range(first, math.ceil(wide), self.apart):
            near, far = max(start, 0), min(start + high, wide)
            begin, end = top + near - start, top + far - start
            if self.rises:
                begin, end = 2 * top + high - begin, 2 * top + high - end
            if far > near:
                ends.append(((left + near, begin), (left + far, end)))
        return ends


TO_CLEAR = Hatch("to-clear", apart=5, wide=0.8)
MISSING = Hatch("missing", apart=6, wide=1.3, rises=True)
LOOSE = "#c2c2c2"
"""What lies under the strokes of soil to clear."""

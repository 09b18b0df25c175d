"""The drawings of walls and plan, fitted to the page, with their words as text alternative."""

import math
import re
from collections.abc import Collection, Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from readiness.papers.drawing_words import as_words
from readiness.papers.drawings.corner_marks import neighbours_of
from readiness.papers.drawings.elevation import ItemMark, elevation_svg
from readiness.papers.drawings.plan import plan_svg
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import bands_of
from readiness.rules.values.rule_values import RuleValues
from readiness.wording.states import wall_words

if TYPE_CHECKING:
    from readiness.papers.views import ItemView, Snapshot

PAGE_WIDTH_MM = 173
PLAN_WIDTH_MM, PLAN_UNITS = 100, 350
_HEAD = re.compile(r'<svg([^>]*?) viewBox="0 0 ([\d.]+) ([\d.]+)"([^>]*)>')
_SIZES = re.compile(r' (?:width|height)="[^"]*"')
_WORDS = re.compile(r"<title[^>]*>(.*?)</title><desc[^>]*>(.*?)</desc>", re.DOTALL)


def plan(
    snapshot: "Snapshot",
    items: "Iterable[ItemView]",
    *,
    most_height: float = 220,
    listing: Collection[str] = (),
) -> str:
    """The perimeter with its wall runs named, their state, and the items where they are.

    It is always 100 mm wide, so that its words stay at 9.7 pt; `most_height` is the house's, in
    units of which 350 go across the drawing. `listing` holds the ids of the walls to name in a list
    under it where they have only a letter on it.
    """
    status = {run.run_id: run.status for run in snapshot.assessment.runs}
    drawn = plan_svg(
        snapshot.facts.runs,
        items=_marks(items),
        status=status,
        status_words=wall_words(snapshot.facts),
        width=PLAN_UNITS,
        most_height=most_height,
        listing=listing,
    )
    return fitted(drawn, PLAN_WIDTH_MM, math.inf)


def elevation(
    run: WallRun,
    values: RuleValues,
    items: "Iterable[ItemView]" = (),
    *,
    runs: Sequence[WallRun] = (),
    corners: bool = True,
    height: float = 69,
    key: bool = True,
) -> str:
    """One wall run from outside, with the treated band, what is short, and the items.

    `runs` are all of its house in order, as bands meet at the corners; none for a wall by itself.
    `corners`: the bands round them are shown past its ends.
    """
    house = tuple(runs) or (run,)
    bands = bands_of(house, values)
    around = neighbours_of(run, house, bands) if corners else None
    drawn = elevation_svg(
        run, values, bands[run.id], items=_marks(items), neighbours=around, width=640,
        height=height, key=key,
    )  # fmt: skip
    return fitted(drawn, PAGE_WIDTH_MM, 200)


def fitted(drawn: str, width_mm: float, height_mm: float, title: str = "") -> str:
    """A drawing given a size in mm, no larger than asked; its description joins its title.

    A PDF has one text alternative for a figure, and WeasyPrint takes it from the title; `title`
    is for a drawing that has none.
    """
    head = _HEAD.search(drawn)
    wide, high = float(head[2]), float(head[3])
    scale = min(width_mm / wide, height_mm / high)
    sizes = f'width="{wide * scale:.2f}mm" height="{high * scale:.2f}mm"'
    rest = _SIZES.sub("", f"{head[1]}{head[4]}")
    body = as_words(drawn[head.end() :])
    sized = f'<svg{rest} viewBox="0 0 {head[2]} {head[3]}" {sizes}>{body}'
    if title:
        return sized.replace(">", f"><title>{escape(title)}</title>", 1)
    return _WORDS.sub(r"<title>\1. \2</title>", sized, count=1)


def _marks(items: "Iterable[ItemView]") -> list[ItemMark]:
    return [ItemMark(item.number, item.from_mm, item.to_mm, item.run_id) for item in items]

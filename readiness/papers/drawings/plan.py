"""The perimeter from above: which wall run is which, how each stands, and where the items are.

One drawing for screens and papers. It is black on white; classes let a style sheet colour it, and
whatever a colour says the shape of the line says as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from html import escape

from readiness.papers.drawings import plan_labels, svg
from readiness.papers.drawings.elevation import ItemMark
from readiness.papers.drawings.plan_walls import Box, Wall, is_free, placed
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.perimeter import Outline, outline, wall_letter
from readiness.rules.vocabulary import Readiness
from readiness.rules.words import metres
from readiness.wording import drawings as say
from readiness.wording import states
from readiness.wording.outline import why_open

ROOMY = 430
"""From this width on names stand level beside upright walls, so the sides are wider."""
SIDE, NARROW_SIDE, ABOVE = 100, 42, 42
TOUCH = 44
NAME = "plan"
DISC = 8.5
DISC_PLACES = [
    (-out, along) for out in range(15, 130, 6) for along in (0, 10, -10, 20, -20, 32, -32)
]


def plan_svg(
    runs: Sequence[WallRun],
    *,
    items: Iterable[ItemMark] = (),
    links: Mapping[str, str] | None = None,
    status: Mapping[str, str] | None = None,
    status_words: Mapping[str, str] | None = None,
    width: float = 440,
    most_height: float = 420,
    key_of: Callable[[int], str] = wall_letter,
    listing: Collection[str] | None = None,
    title: str = "",
) -> str:
    """Draw the runs in order round the house, the first along the bottom.

    `links` gives addresses by run id; `status` gives an assessment's status by run id, said with
    `status_words`. Outlines that don't
    close are drawn as they are, with the gap dashed. A wall without room for its name gets a key
    (`key_of` its number, from 1) and is named in a list underneath, unless the page around the
    drawing names it: `listing` holds the ids of the walls that may be in the list, all by default.
    `most_height` is the house's, without labels; sizes are units of the drawing, in which words
    are 12 high.
    """
    runs, status, items = list(runs), dict(status or {}), list(items)
    status_words = states.status_words() if status_words is None else status_words
    title = title or say.short("plan")
    if not runs:
        return _empty(width, title)
    shape = outline(runs)
    keys = [key_of(number) for number in range(1, len(runs) + 1)]
    margins = (SIDE if width >= ROOMY else NARROW_SIDE, ABOVE)
    walls, height = placed(runs, keys, shape, width, most_height, margins)
    lines = [(wall.start, wall.end) for wall in walls]
    gap = _gap(walls, shape)
    marks, discs = _marks(walls, items, lines)
    labels, unnamed = plan_labels.label_walls(
        walls, (3, 3, width - 3, height - 3), [*lines, *gap], discs
    )
    said = {wall.run.id: _said(wall, status, status_words, items) for wall in walls}
    body = [_inside(walls, shape)]
    body += [
        svg.line(*start, *end, 1.4, stroke_dasharray="3 4", class_="plan-gap") for start, end in gap
    ]
    body += [_drawn(wall, status.get(wall.run.id)) for wall in walls]
    body += [plan_labels.drawn(label) for label in labels]
    body += marks
    if listing is not None:
        unnamed = [wall for wall in unnamed if wall.run.id in listing]
    rows, height = plan_labels.listed(unnamed, width, height)
    key, height = _key(status, status_words, width, height)
    body += [*rows, *key]
    if links:
        body = [
            svg.element("g", "".join(body), aria_hidden="true"),
            *_links(walls, labels, links, said),
        ]
    return svg.drawing(
        body, width, height, title, _describe(walls, shape, said), NAME, "drawing plan",
        "group" if links else "img",
    )  # fmt: skip


def _empty(width: float, title: str) -> str:
    words = say.short("no_walls")
    body = [svg.text(width / 2, 40, words, 13, "middle")]
    return svg.drawing(body, width, 70, title, words, NAME, "drawing plan")


def _inside(walls: Sequence[Wall], shape: Outline) -> str:
    """The house itself, lightly tinted, once the outline closes."""
    fill = "#f1f1f1" if shape.closes else "none"
    return svg.polygon([wall.start for wall in walls], fill)


def _gap(walls: Sequence[Wall], shape: Outline) -> list[tuple[svg.Point, svg.Point]]:
    """What is missing between the last wall and the first, if anything can be drawn of it."""
    if shape.closes or len(walls) < 3 or math.dist(walls[-1].end, walls[0].start) < 1:
        return []
    return [(walls[-1].end, walls[0].start)]


def _drawn(wall: Wall, status: str | None) -> str:
    """A thick line: whole when ready, double when not ready, dashed when not known, dotted where
    nobody can reach it.
    """
    ends = (*wall.start, *wall.end)
    name = f"plan-run is-{status.replace('_', '-')}" if status else "plan-run"
    if status == Readiness.NOT_READY:
        return svg.line(*ends, 8, class_=name) + svg.line(*ends, 2.4, stroke=svg.PAPER)
    if status == Readiness.NOT_KNOWN:
        return svg.line(*ends, 3, stroke_dasharray="7 4", class_=name)
    if status == Readiness.OUT_OF_REACH:
        return svg.line(*ends, 3, stroke_dasharray="1.5 4", class_=name)
    return svg.line(*ends, 5, class_=name)


def _marks(
    walls: Sequence[Wall],
    items: Iterable[ItemMark],
    lines: Sequence[tuple[svg.Point, svg.Point]],
) -> tuple[list[str], list[Box]]:
    """Numbered discs inside the walls, at their distance; and the boxes that they take up."""
    by_id = {wall.run.id: wall for wall in walls}
    taken: list[Box] = []
    leaders, places = [], []
    for mark in items:
        wall = by_id.get(mark.run_id)
        if wall is None:
            continue
        middle = ((mark.from_mm or 0) + (mark.to_mm or mark.from_mm or 0)) / 2
        share = 0.5 if mark.from_mm is None else min(max(middle / wall.run.length_mm, 0), 1)
        place = _place_of_disc(wall, share, lines, taken)
        taken.append(_disc_box(place))
        leaders.append((wall.at(share), place))
        places.append((*place, str(mark.number)))
    drawn = [
        svg.strokes(leaders, 1.2, class_="plan-leaders"),
        svg.markers(places, DISC, class_="plan-mark"),
    ]
    return drawn, taken


def _place_of_disc(wall: Wall, share: float, lines, taken: Sequence[Box]) -> svg.Point:
    """The nearest place that is clear of the others and of the walls; else just clear of others."""
    shares = [(share + along / max(wall.length, 1), out) for out, along in DISC_PLACES]
    places = [wall.at(at, out) for at, out in shares if 0 <= at <= 1]
    fallback = None
    for place in places:
        if not is_free(_disc_box(place), taken, (), 0):
            continue
        if is_free(_disc_box(place), (), lines, 4):
            return place
        fallback = fallback or place
    return fallback or places[0]


def _disc_box(place: svg.Point) -> Box:
    reach = DISC + 1
    return (place[0] - reach, place[1] - reach, place[0] + reach, place[1] + reach)


def _links(
    walls: Sequence[Wall],
    labels: Sequence[plan_labels.Label],
    links: Mapping[str, str],
    said: Mapping[str, str],
) -> list[str]:
    """A wide, clear area over each wall that can be tapped, in order round the house.

    Where walls are short the areas of their neighbours lie over them, so labels can be tapped
    too. Those come last, on top, and are no second stop for the keyboard or for readers.
    """
    areas, over = [], []
    for wall in walls:
        if wall.run.id in links:
            area = svg.line(
                *wall.start, *wall.end, TOUCH,
                stroke="#000", stroke_opacity="0", class_="plan-touch",
            )  # fmt: skip
            said_of = said[wall.run.id]
            areas.append(_link(links[wall.run.id], said_of, area, aria_label=said_of))
    for label in labels:
        if label.wall.run.id in links:
            left, top, right, bottom = label.box
            area = svg.rect(left, top, right - left, bottom - top, fill="#000", fill_opacity="0")
            run = label.wall.run.id
            over.append(_link(links[run], said[run], area, aria_hidden="true", tabindex="-1"))
    return [*areas, *over]


def _link(address: str, words: str, area: str, **parts: str) -> str:
    title = svg.element("title", escape(words))
    return svg.element("a", area + title, href=address, **parts)


def _key(
    status: Mapping[str, str], status_words: Mapping[str, str], width: float, top: float
) -> tuple[list[str], float]:
    """What the lines mean, for those that are there."""
    present = [known for known in status_words if known in status.values()]
    if not present:
        return [], top
    drawn, x, y = [], 12.0, top + 8
    for known in present:
        needed = 32 + svg.text_width(status_words[known], 11.5)
        if x > 12 and x + needed > width:
            x, y = 12.0, y + 18
        sample = Wall(WallRun("", "", 1), "", (x, y - 4), (x + 26, y - 4))
        drawn += [_drawn(sample, known), svg.text(x + 32, y, status_words[known], 11.5)]
        x += needed + 16
    return drawn, y + 12


def _said(
    wall: Wall,
    status: Mapping[str, str],
    status_words: Mapping[str, str],
    items: Sequence[ItemMark],
) -> str:
    """A wall in words: name, length, how it stands, and the items on it."""
    known = status_words[status[wall.run.id]] if wall.run.id in status else ""
    numbers = [mark.number for mark in items if mark.run_id == wall.run.id]
    return say.wall_in_words(wall.words, known, numbers)


def _describe(walls: Sequence[Wall], shape: Outline, said: Mapping[str, str]) -> str:
    """The whole plan in words."""
    total = metres(sum(wall.run.length_mm for wall in walls))
    told = [said[wall.run.id] for wall in walls]
    return say.house_in_words(len(walls), total, told, why_open(shape))

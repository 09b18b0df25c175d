"""What stands in a drawing, for the tests of drawings: its words, strokes and areas."""

import re
from itertools import combinations
from xml.etree import ElementTree

from readiness.papers.drawings.svg import text_width

SVG = "{http://www.w3.org/2000/svg}"
ASCENT, DESCENT = 0.74, 0.2
"""Of a text's size: capitals and figures of DejaVu Sans (0.73) and the tails of its letters."""


def read(svg):
    """Parse a drawing, and hold it against what every drawing must be."""
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox")
    for part in root.iter():
        assert part.tag != f"{SVG}style"
        assert part.tag != f"{SVG}script"
        assert "style" not in part.attrib
        assert not any(name.startswith("on") for name in part.attrib)
    assert "nan" not in svg
    return root


def words(svg):
    return [part.text for part in read(svg).iter(f"{SVG}text")]


def alternative(svg):
    root = read(svg)
    ids = root.get("aria-labelledby").split()
    title, description = (root.find(f"{SVG}{name}") for name in ("title", "desc"))
    assert [title.get("id"), description.get("id")] == ids
    return title.text, description.text


def text_boxes(svg):
    """Each text on a drawing with the box that it takes: left, top, right, bottom."""
    for part in read(svg).iter(f"{SVG}text"):
        size, x, y = (float(part.get(name)) for name in ("font-size", "x", "y"))
        wide = text_width(part.text, size, bold=part.get("font-weight") == "700")
        left = {"start": x, "end": x - wide, "middle": x - wide / 2}[part.get("text-anchor")]
        yield part.text, (left, y - ASCENT * size, left + wide, y + DESCENT * size)


def overlapping(svg):
    """Pairs of texts that lie over each other."""
    return [
        (one, other)
        for (one, a), (other, b) in combinations(text_boxes(svg), 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


def paths(svg, class_):
    """The points of each path of a class, a list for each of its subpaths."""
    return [
        points
        for part in read(svg).iter(f"{SVG}path")
        if class_ in (part.get("class") or "").split()
        for points in subpaths(part.get("d"))
    ]


def subpaths(d):
    """The points of a path of straight strokes between absolute places."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", sub)]
        for sub in d.split("M")
        if sub
    ]


def span(points):
    """From left to right, and from top to bottom."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), max(xs), min(ys), max(ys)

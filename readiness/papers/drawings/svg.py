"""Small pieces of SVG. Only presentation attributes: no style, no script, nothing to fetch.

Colours are black, white and greys, so that every drawing also works on a black-and-white printer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

INK = "#111"
PAPER = "#fff"
BRICK = "#ececec"
MORTAR = "#a2a2a2"
CONCRETE = "#dcdcdc"
SOIL = "#8f8f8f"
FINISH = "#d0d0d0"
FONT = "Inter, 'DejaVu Sans', Arial, sans-serif"

Point = tuple[float, float]


def num(value: float) -> str:
    """A coordinate with at most one decimal."""
    text = f"{float(value):.1f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def attributes(parts: dict[str, object]) -> str:
    """Attributes of an element; `_` stands for `-`, and a trailing one (`class_`) is dropped."""
    return "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in parts.items()
        if value is not None
    )


def _value(value: object) -> str:
    return num(value) if isinstance(value, float) else escape(str(value), quote=True)


def element(name: str, body: str = "", /, **parts: object) -> str:
    return (
        f"<{name}{attributes(parts)}>{body}</{name}>" if body else f"<{name}{attributes(parts)}/>"
    )


def rect(x: float, y: float, width: float, height: float, **parts: object) -> str:
    return element(
        "rect", x=num(x), y=num(y), width=num(width), height=num(height), **parts
    )  # fmt: skip


def path_of(points: Iterable[Point], close: bool = False) -> str:
    """The path data through some points."""
    body = " L".join(f"{num(x)} {num(y)}" for x, y in points)
    return f"M{body}{' Z' if close else ''}"


def areas(outlines: Iterable[Iterable[Point]]) -> str:
    """The path data of areas side by side as one shape, so that no seam shows between them."""
    return "".join(path_of(outline, close=True) for outline in outlines)


def polyline(points: Iterable[Point], width: float = 1.5, **parts: object) -> str:
    drawn = {"fill": "none", "stroke": INK, "stroke_width": num(width), "stroke_linejoin": "round"}
    return element("path", d=path_of(points), **(drawn | parts))


def polygon(points: Iterable[Point], fill: str, **parts: object) -> str:
    return element("path", d=path_of(points, close=True), fill=fill, **parts)


def line(x1: float, y1: float, x2: float, y2: float, width: float = 1.5, **parts: object) -> str:
    return polyline([(x1, y1), (x2, y2)], width, **parts)


_WIDTHS = {
    letter: width
    for letters, width in (
        (" ,.:;'|ijl·", 0.41),
        ('ftrI()[]-/"J!', 0.58),
        ("csvxyzk", 0.67),
        ("abdeghnopqu0123456789$?EFLTSZ_", 0.75),
        ("ABCDGHKNOPQRUVXY&", 0.88),
        ("w", 0.93),
        ("mMW%@—…+=<>", 1.11),
    )
    for letter in letters
}
_OTHER_LETTER = 1.17


def text_width(words: str, size: float, bold: bool = False) -> float:
    """How wide a text is at most, in DejaVu Sans, the widest of the faces in FONT.

    Measured letter by letter on its bold cut; the regular one is a tenth narrower.
    """
    wide = sum(_WIDTHS.get(letter, _OTHER_LETTER) for letter in words)
    return wide * size * (1 if bold else 0.92)


def wrapped(words: str, size: float, room: float) -> list[str]:
    """A text in lines no wider than the room; a word too long for it is broken."""
    lines = [""]
    for word in words.split():
        joined = f"{lines[-1]} {word}".strip()
        if text_width(joined, size) <= room:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if lines[-1] and text_width(lines[-1] + letter, size) > room:
                lines.append("")
            lines[-1] += letter
    return lines


def text(
    x: float,
    y: float,
    words: str,
    size: float = 12,
    anchor: str = "start",
    bold: bool = False,
    backed: bool = False,
    fill: str = INK,
) -> str:
    """Words at a baseline; `backed` puts paper behind them so that lines don't cross them."""
    drawn = element(
        "text", escape(words), x=num(x), y=num(y), font_size=num(size), font_family=FONT,
        text_anchor=anchor, font_weight="700" if bold else None, fill=fill,
    )  # fmt: skip
    if not backed:
        return drawn
    width = text_width(words, size, bold) + 4
    left = x - {"start": 2, "middle": width / 2, "end": width - 2}[anchor]
    return rect(left, y - 0.86 * size, width, 1.12 * size, fill=PAPER, fill_opacity="0.92") + drawn


def height(x: float, top: float, bottom: float) -> list[str]:
    """An upright dimension line; with an arrow head at each end where there is room for both."""
    drawn = [line(x, top, x, bottom, 1.6)]
    if bottom - top > 14:
        for tip, wings in ((top, top + 6), (bottom, bottom - 6)):
            drawn.append(polygon([(x, tip), (x - 2.8, wings), (x + 2.8, wings)], INK))
    return drawn


def markers(places: Sequence[tuple[float, float, str]], radius: float = 9, **parts: object) -> str:
    """Black discs with numbers in them: where items are. All discs are one path: that is fast."""
    if not places:
        return ""
    across = num(2 * radius)
    half = f"a{num(radius)} {num(radius)} 0 1 0"
    discs = "".join(
        f"M{num(x - radius)} {num(y)} {half} {across} 0 {half} -{across} 0 Z " for x, y, _ in places
    )
    numbers = []
    for x, y, words in places:
        size = radius * (1.25 if len(words) < 3 else 0.95)
        numbers.append(text(x, y + size * 0.36, words, size, "middle", bold=True, fill=PAPER))
    drawn = {"fill": INK, "stroke": PAPER, "stroke_width": "1.5"}
    return element("path", d=discs, **(drawn | parts)) + "".join(numbers)


def strokes(lines: Sequence[tuple[Point, Point]], width: float, **parts: object) -> str:
    """Straight lines of one thickness, as one path; nothing where there are none."""
    if not lines:
        return ""
    drawn = {"fill": "none", "stroke": INK, "stroke_width": num(width)}
    return element("path", d=" ".join(path_of(ends) for ends in lines), **(drawn | parts))


def drawing(
    body: Sequence[str],
    width: float,
    height: float,
    title: str,
    description: str,
    name: str,
    class_: str = "drawing",
    role: str = "img",
) -> str:
    """A whole SVG with its text alternative. `name` makes its ids its own on a page.

    The role is "group" where there are links in it: an image has nothing to step into.
    """
    return element(
        "svg",
        element("title", escape(title), id=f"{name}-title")
        + element("desc", escape(description), id=f"{name}-desc")
        + rect(0, 0, width, height, fill=PAPER)
        + "".join(body),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {num(width)} {num(height)}",
        class_=class_,
        role=role,
        aria_labelledby=f"{name}-title {name}-desc",
    )


def safe_name(prefix: str, raw: str) -> str:
    """An id that any page can hold, from a run's id."""
    kept = "".join(char if char.isalnum() else "-" for char in str(raw))
    return f"{prefix}-{kept}"

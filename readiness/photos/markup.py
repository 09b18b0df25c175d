"""Shapes drawn over a photo: checked as data, drawn as SVG.

Positions are fractions of the displayed picture, 0 to 1 from its top left corner. Shapes:

    {"kind": "arrow",     "from": [x, y], "to": [x, y]}
    {"kind": "dimension", "from": [x, y], "to": [x, y], "text": "38 mm"}
    {"kind": "circle",    "box": [left, top, right, bottom]}
    {"kind": "text",      "at": [x, y], "text": "soil to here"}
    {"kind": "blur",      "box": [left, top, right, bottom]}

Blurs are not drawn here: they are burned into the sizes (see ``sizes``).
"""

from math import atan2, cos, hypot, isfinite, pi, sin

from django.utils.html import escape
from django.utils.safestring import mark_safe

from readiness.wording.refusals import photos as refusals

MOST_SHAPES = 60
TEXT_LENGTH = 80
DECIMALS = 5
SMALLEST_SIDE = 0.004
FIELDS = {
    "arrow": ("from", "to"),
    "dimension": ("from", "to", "text"),
    "circle": ("box",),
    "text": ("at", "text"),
    "blur": ("box",),
}
INK, CASING = "#ffd400", "#17212b"


class MarkupError(Exception):
    """Shapes that cannot be kept; the text says why."""


def clean_shapes(data) -> list[dict]:
    """The shapes with known fields only, rounded and in order. Raises ``MarkupError``."""
    if not isinstance(data, list):
        raise MarkupError(refusals.marks_cut_off())
    if len(data) > MOST_SHAPES:
        raise MarkupError(refusals.too_many_marks(MOST_SHAPES))
    return [_clean_shape(shape) for shape in data]


def _clean_shape(shape) -> dict:
    kind = shape.get("kind") if isinstance(shape, dict) else None
    if kind not in FIELDS:
        raise MarkupError(refusals.unknown_mark())
    cleaned = {"kind": kind}
    for name in FIELDS[kind]:
        value = shape.get(name)
        cleaned[name] = {"text": _text, "box": _box}.get(name, clean_point)(value)
    if kind == "text" and not cleaned["text"]:
        raise MarkupError(refusals.mark_without_text())
    if kind in ("arrow", "dimension") and cleaned["from"] == cleaned["to"]:
        raise MarkupError(refusals.mark_without_length())
    return cleaned


def _text(value) -> str:
    if not isinstance(value, str):
        raise MarkupError(refusals.mark_text_missing())
    printable = "".join(c if c.isprintable() else " " for c in value)
    text = " ".join(printable.split())
    if len(text) > TEXT_LENGTH:
        raise MarkupError(refusals.mark_text_too_long(TEXT_LENGTH))
    return text


def clean_point(value) -> list[float]:
    """One position as two rounded fractions. Raises ``MarkupError``."""
    if not isinstance(value, list) or len(value) != 2:
        raise MarkupError(refusals.mark_without_place())
    return [_fraction(part) for part in value]


def _box(value) -> list[float]:
    if not isinstance(value, list) or len(value) != 4:
        raise MarkupError(refusals.mark_without_place())
    a, b, c, d = (_fraction(part) for part in value)
    left, right, top, bottom = min(a, c), max(a, c), min(b, d), max(b, d)
    if right - left < SMALLEST_SIDE or bottom - top < SMALLEST_SIDE:
        raise MarkupError(refusals.mark_too_small())
    return [left, top, right, bottom]


def _fraction(value) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise MarkupError(refusals.mark_without_place())
    return round(min(1.0, max(0.0, float(value))), DECIMALS)


def svg_overlay(shapes: list[dict], width_px: int, height_px: int) -> str:
    """SVG elements of the shapes for a picture of that size, without the ``<svg>`` around them.

    Uses presentation attributes only, so that it works under a strict content security policy
    and in papers. Returns safe markup; empty when there is nothing to draw.
    """
    unit = max(width_px, height_px) / 100
    drawn = "".join(
        DRAWERS[shape["kind"]](shape, width_px, height_px, unit)
        for shape in shapes
        if shape["kind"] in DRAWERS
    )
    return mark_safe(drawn)  # noqa: S308  (numbers, and text that is escaped below)


def _cased(path: str, unit: float) -> str:
    """A stroke with a dark casing, to be seen on light render and dark brick alike."""
    both = ""
    for colour, thickness in ((CASING, 1.1), (INK, 0.6)):
        both += (
            f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{thickness * unit:.1f}" '
            'stroke-linecap="round" stroke-linejoin="round"/>'
        )
    return both


def _ends(shape, width, height):
    (x1, y1), (x2, y2) = shape["from"], shape["to"]
    return x1 * width, y1 * height, x2 * width, y2 * height


def _arrow(shape, width, height, unit) -> str:
    x1, y1, x2, y2 = _ends(shape, width, height)
    angle, head = atan2(y2 - y1, x2 - x1), min(4 * unit, 0.5 * hypot(x2 - x1, y2 - y1))
    wings = "".join(
        f"M{x2:.1f} {y2:.1f}l{-head * cos(angle + turn):.1f} {-head * sin(angle + turn):.1f}"
        for turn in (pi / 7, -pi / 7)
    )
    return _cased(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}{wings}", unit)


def _dimension(shape, width, height, unit) -> str:
    x1, y1, x2, y2 = _ends(shape, width, height)
    angle, tick = atan2(y2 - y1, x2 - x1) + pi / 2, 1.5 * unit
    dx, dy = tick * cos(angle), tick * sin(angle)
    ticks = "".join(
        f"M{x - dx:.1f} {y - dy:.1f}L{x + dx:.1f} {y + dy:.1f}" for x, y in ((x1, y1), (x2, y2))
    )
    line = _cased(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}{ticks}", unit)
    if not shape["text"]:
        return line
    middle = {"text": shape["text"], "at": [(x1 + x2) / 2 / width, (y1 + y2) / 2 / height - 0.015]}
    return line + _words(middle, width, height, unit)


def _circle(shape, width, height, unit) -> str:
    left, top, right, bottom = shape["box"]
    rx, ry = (right - left) * width / 2, (bottom - top) * height / 2
    cx, cy = (left + right) * width / 2, (top + bottom) * height / 2
    return _cased(
        f"M{cx - rx:.1f} {cy:.1f}a{rx:.1f} {ry:.1f} 0 1 0 {2 * rx:.1f} 0"
        f"a{rx:.1f} {ry:.1f} 0 1 0 {-2 * rx:.1f} 0z",
        unit,
    )


def _words(shape, width, height, unit) -> str:
    x, y = shape["at"][0] * width, shape["at"][1] * height
    size, text = 3.6 * unit, escape(shape["text"])
    side = "start" if x < width * 0.33 else "end" if x > width * 0.67 else "middle"
    common = (
        f'x="{x:.1f}" y="{max(y, size):.1f}" font-size="{size:.1f}" font-weight="700" '
        f'font-family="DejaVu Sans, sans-serif" text-anchor="{side}"'
    )
    casing = f'stroke="{CASING}" stroke-width="{0.9 * unit:.1f}" stroke-linejoin="round"'
    return (
        f'<text {common} fill="{CASING}" {casing}>{text}</text>'
        f'<text {common} fill="{INK}">{text}</text>'
    )


DRAWERS = {"arrow": _arrow, "dimension": _dimension, "circle": _circle, "text": _words}

"""A small drawing for each kind of defect, for big buttons: brickwork with the defect in it.

48 x 48, in the text's own colour (`currentColor`): outlines for brick, solid black for what is
wrong, so that they read in sunlight and in black and white.
"""

from html import escape

_TOP, _COURSE, _BRICK, _GAP = 3, 11, 9, 2


def _rect(x: float, y: float, width: float, height: float, **more: object) -> str:
    extra = "".join(f' {key.replace("_", "-")}="{value}"' for key, value in more.items())
    return f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}"{extra}/>'


def _wall(
    left: float = 2, right: float = 46, courses: int = 4, skip: tuple[tuple[int, int], ...] = ()
) -> str:
    """Courses of brick in stretcher bond; `skip` leaves out bricks by (course, number)."""
    bricks = []
    for course in range(courses):
        x, number = left - (11 if course % 2 else 0), 0
        while x < right:
            start, end = max(x, left), min(x + 20, right)
            if end - start > 2 and (course, number) not in skip:
                y = _TOP + course * _COURSE
                bricks.append(_rect(start, y, end - start, _BRICK))
            x, number = x + 22, number + 1
    return (
        '<g fill="currentColor" fill-opacity="0.14" stroke="currentColor" stroke-width="1.2">'
        f"{''.join(bricks)}</g>"
    )


def _solid(path: str) -> str:
    return f'<path d="{path}" fill="currentColor"/>'


def _line(path: str, width: float = 2.5, **more: object) -> str:
    extra = "".join(f' {key.replace("_", "-")}="{value}"' for key, value in more.items())
    return (
        f'<path d="{path}" fill="none" stroke="currentColor" stroke-width="{width:g}" '
        f'stroke-linecap="round" stroke-linejoin="round"{extra}/>'
    )


def _halo(path: str, width: float = 5) -> str:
    """A light edge round what is wrong, so that it stands out from the brick behind it."""
    return (
        f'<path d="{path}" fill="none" class="drawing-paper" stroke="#fff" '
        f'stroke-width="{width:g}" stroke-linecap="round" stroke-linejoin="round"/>'
    )


def _marked(path: str, width: float = 2.5) -> str:
    return _halo(path, width + 2.5) + _line(path, width)


def _paper(path: str) -> str:
    """An area in the paper's colour: render, or a hole in front of brick."""
    return f'<path d="{path}" class="drawing-paper" fill="#fff"/>'


def _ground(top: float, left: float = 0, right: float = 48) -> str:
    """Ground in section: a solid band with an uneven top."""
    middle = (left + right) / 2
    return _solid(
        f"M{left:g} {top:g} Q{middle / 2:g} {top - 2:g} {middle:g} {top:g} "
        f"T{right:g} {top:g} V48 H{left:g} Z"
    )


def _render(bottom: float = 48) -> str:
    """Smooth render over the wall: blank with a few stipples, brick showing at the top corner."""
    dots = "".join(
        f'<circle cx="{x}" cy="{y}" r="0.8" fill="currentColor"/>'
        for x, y in ((8, 16), (17, 12), (26, 17), (36, 11), (42, 18), (12, 23), (31, 23), (21, 19))
        if y < bottom
    )
    edge = "M2 9 L14 3"
    return (
        _wall(courses=1)
        + _paper("M0 9 L16 2 H48 V48 H0 Z")
        + _line(edge, 1.2)
        + _line("M2 9 V44 M46 3 V44 M14 3 H46", 1.2)
        + dots
    )


_ARROW_UP = "M{x} {y} V{top} M{left} {wing} L{x} {top} L{right} {wing}"


def _arrow_up(x: float, y: float, top: float) -> str:
    path = _ARROW_UP.format(x=x, y=y, top=top, left=x - 4, right=x + 4, wing=top + 4.5)
    return _marked(path, 2.4)


def _cross(x: float, y: float, half: float) -> str:
    return _marked(
        f"M{x - half:g} {y - half:g} L{x + half:g} {y + half:g} "
        f"M{x + half:g} {y - half:g} L{x - half:g} {y + half:g}",
        3,
    )


def _drop(x: float, y: float, size: float = 1) -> str:
    path = (
        f"M{x:g} {y:g} q{4 * size:g} {5 * size:g} {4 * size:g} {8 * size:g} "
        f"a{4 * size:g} {4 * size:g} 0 0 1 {-8 * size:g} 0 "
        f"q0 {-3 * size:g} {4 * size:g} {-8 * size:g} Z"
    )
    return _halo(path, 3) + _solid(path)


def _blot(x: float, y: float, radius: float) -> str:
    r = radius
    path = (
        f"M{x - r:g} {y:g} q{0.1 * r:g} {-r:g} {r:g} {-0.8 * r:g} q{0.9 * r:g} {-0.3 * r:g} "
        f"{r:g} {0.7 * r:g} q{0.2 * r:g} {0.9 * r:g} {-0.8 * r:g} {r:g} "
        f"q{-1.1 * r:g} {0.2 * r:g} {-1.2 * r:g} {-0.9 * r:g} Z"
    )
    return _halo(path, 2) + _solid(path)


KIND_SYMBOLS: dict[str, str] = {
    "unfilled_joint": _wall()
    + _solid(
        "M11 22.6 q3 -2 6 -1 q5 -1 9 0 q5 -1.2 10 0.6 l1 3.2 q-3 1.6 -8 0.9 q-5 1.2 -9 0.2 "
        "q-5 1 -9 -0.7 Z"
    )
    + _solid("M34 13.5 h2.6 l0.5 3.8 l-0.6 6.4 h-2.2 l-0.6 -5 Z"),
    "gap_too_wide": _wall(2, 16)
    + _wall(32, 46)
    + _rect(16.6, 3, 14.8, 42, fill="currentColor")
    + '<path d="M19 24 H29 M22 20.5 L18.6 24 L22 27.5 M26 20.5 L29.4 24 L26 27.5" fill="none" '
    'class="drawing-paper" stroke="#fff" stroke-width="2.2" stroke-linecap="round" '
    'stroke-linejoin="round"/>',
    "articulation_unsealed": _wall(2, 21)
    + _wall(27, 46)
    + _line("M22 3 V45 M26 3 V45", 1.2)
    + _line("M24 5 V43", 2.6, stroke_dasharray="1 5"),
    "tight_crack": _wall() + _marked("M27 2 L22 11 L28 18 L20 27 L26 34 L21 46", 2.2),
    "soil_against_brick": _wall()
    + _halo("M0 46 Q4 22 14 24 Q26 27 34 38 Q40 44 48 45 V48 H0 Z", 3)
    + _solid("M0 46 Q4 22 14 24 Q26 27 34 38 Q40 44 48 45 V48 H0 Z"),
    "ground_too_high": _wall()
    + _paper("M0 24 H48 V48 H0 Z")
    + _ground(26)
    + _arrow_up(24, 24, 7),
    "render_line_low": _render(28)
    + _ground(39)
    + _line("M3 34 H45", 3)
    + _arrow_up(24, 30, 15),
    "no_struck_joint": _render(40)
    + _ground(41)
    + _line("M4 31 H44", 2.6, stroke_dasharray="5 5")
    + _cross(24, 31, 6),
    "weep_hole_blocked": _wall() + _rect(32.8, 13, 2.8, 11, fill="currentColor")
    + _rect(10.8, 13, 2.8, 11, fill="currentColor") + _cross(34.2, 18.5, 7),
    "weep_hole_low": _wall()
    + _paper("M0 37 H48 V48 H0 Z")
    + _ground(38)
    + _rect(21.3, 24.5, 3.6, 11.5, fill="currentColor")
    + _arrow_up(36, 34, 18),
    "mortar_drop": _wall(courses=3)
    + _line("M0 46 H48", 2.5)
    + _halo("M8 45 Q9 36 16 34 Q20 26 27 31 Q34 31 36 38 Q41 40 41 45 Z", 3)
    + _solid("M8 45 Q9 36 16 34 Q20 26 27 31 Q34 31 36 38 Q41 40 41 45 Z")
    + _blot(32, 18, 4),
    "dirty_brick": _wall()
    + _blot(13, 13, 8)
    + _blot(33, 30, 9)
    + _blot(36, 9, 4)
    + _blot(12, 35, 4),
    "wet_brick": _wall() + _drop(13, 6, 1.2) + _drop(33, 12, 1.5) + _drop(18, 27, 1.4),
    "tap_splashes": _wall()
    + _halo("M6 12 H24 Q31 12 31 19 V23", 9)
    + _line("M4 12 H23 Q30 12 30 19 V22", 4.5)
    + _line("M17 12 V5 M12 5 H22", 3)
    + _blot(28, 31, 3.5)
    + _blot(38, 27, 3)
    + _blot(20, 37, 3)
    + _blot(35, 38, 4.5)
    + _blot(11, 29, 2.2),
    "timber_against_wall": _wall()
    + _halo("M30 2 L40 5 L20 47 L9 44 Z", 3)
    + _solid("M30 2 L40 5 L20 47 L9 44 Z")
    + '<path d="M31.5 7 L14 43 M36 8 L18 44" class="drawing-paper" stroke="#fff" '
    'stroke-width="1.2" fill="none"/>'
    + _line("M0 46.5 H48", 2.5),
    "attachment_too_close": _wall(2, 24)
    + _rect(29, 3, 12, 43, fill="currentColor")
    + _line("M0 46.5 H48", 2.5)
    + _paper("M24.8 18 H28.4 V30 H24.8 Z")
    + _marked("M14 24 H23 M19.5 20 L23.5 24 L19.5 28", 2.4),
    "access_blocked": _wall()
    + _halo("M3 20 H45 V31 H3 Z M10 31 V46 M38 31 V46", 4)
    + _paper("M3 20 H45 V31 H3 Z")
    + _solid(
        "M3 20 H11 L4 31 H3 Z M18 20 H26 L19 31 H11 Z M33 20 H41 L34 31 H26 Z M45 23 V31 H41 Z"
    )
    + _line("M3 20 H45 V31 H3 Z M10 31 V46 M38 31 V46", 2.5),
    "other": _wall()
    + '<circle cx="24" cy="24" r="15" class="drawing-paper" fill="#fff" stroke="currentColor" '
    'stroke-width="2.5"/>'
    + "".join(f'<circle cx="{x}" cy="24" r="2.6" fill="currentColor"/>' for x in (16, 24, 32)),
}  # fmt: skip


def kind_svg(slug: str, *, size: int = 48, title: str | None = None) -> str:
    """The drawing of a kind, as a whole SVG; hidden from readers unless it has a title.

    KeyError if the kind has no drawing.
    """
    label = (
        f'role="img" aria-label="{escape(title, quote=True)}"' if title else 'aria-hidden="true"'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="kind-drawing" viewBox="0 0 48 48" '
        f'width="{size}" height="{size}" focusable="false" {label}>{KIND_SYMBOLS[slug]}</svg>'
    )

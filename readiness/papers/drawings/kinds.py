"""A small drawing for each kind of defect, for big buttons: brickwork with the defect in it.

They lie in `symbols/`, a file a kind, 48 x 48, in the text's own colour (`currentColor`): outlines
for brick, solid black for what is wrong, so that they read in sunlight and in black and white. What
has the paper's colour is of the class `drawing-paper`.
"""

from functools import cache
from html import escape
from pathlib import Path

SYMBOLS = Path(__file__).parent / "symbols"


@cache
def _symbol(slug: str) -> str:
    """What stands between the svg tags of a kind's file, which are lines of their own."""
    try:
        text = (SYMBOLS / f"{slug}.svg").read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise KeyError(slug) from error
    return "".join(line.strip() for line in text.splitlines()[1:-1])


def kind_svg(slug: str, *, size: int = 48, title: str | None = None) -> str:
    """The drawing of a kind, as a whole SVG; hidden from readers unless it has a title.

    KeyError if the kind has no drawing.
    """
    label = (
        f'role="img" aria-label="{escape(title, quote=True)}"' if title else 'aria-hidden="true"'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="kind-drawing" viewBox="0 0 48 48" '
        f'width="{size}" height="{size}" focusable="false" {label}>{_symbol(slug)}</svg>'
    )

"""A small drawing for each kind of defect, for big buttons: brickwork with the defect in it.

They lie in `symbols/`, a file a kind, 48 x 48, in the text's own colour (`currentColor`): outlines
for brick, solid black for what is wrong, so that they read in sunlight and in black and white. What
has the paper's colour is of the class `drawing-paper`.
"""

from functools import cache
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


def kind_svg(slug: str) -> str:
    """The drawing of a kind, as a whole SVG, hidden from readers: its name stands beside it.

    KeyError if the kind has no drawing.
    """
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="kind-drawing" viewBox="0 0 48 48" '
        f'width="48" height="48" focusable="false" aria-hidden="true">{_symbol(slug)}</svg>'
    )

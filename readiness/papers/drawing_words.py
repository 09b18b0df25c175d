"""Words of a drawing, drawn a line at a time.

WeasyPrint lays out the text of an SVG letter by letter, and each text that does not start at its
point becomes an object of its own in the file. Measured on the site report of 40 items: 1365
layouts and 191 objects, for 236 short lines that need one layout each and no object.

So a paper's drawings call their texts `words`, a tag that WeasyPrint does not know, and this
module tells it how to draw one: a single line at x and y, with family, size, weight and anchor.
"""

from math import inf

from weasyprint import svg as weasyprint_svg
from weasyprint.css.properties import INITIAL_VALUES
from weasyprint.draw.text import draw_emojis, draw_first_line
from weasyprint.matrix import Matrix
from weasyprint.svg.text import Style, TextBox
from weasyprint.text.line_break import split_first_line

READ_IN = "70.0"
"""The version of WeasyPrint whose parts these are: most are not public."""
TAG = "words"
_SHARE_BEFORE = {"start": 0, "middle": 0.5, "end": 1}


def as_words(drawn: str) -> str:
    """A drawing's markup with its texts as words; what people wrote in it is escaped."""
    return drawn.replace("<text ", f"<{TAG} ").replace("</text>", f"</{TAG}>")


def draw_words(svg, node, font_size: float) -> None:
    """Draw one line of words on the stream of an SVG, as WeasyPrint calls it."""
    if not node.text:
        return
    style = _style(svg, node, font_size)
    layout, _, _, width, _, baseline = split_first_line(node.text, style, svg.context, inf, 0)
    x, y = svg.point(node.get("x"), node.get("y"), font_size)
    x -= width * _SHARE_BEFORE[node.get("text-anchor", "start")]
    svg.stream.push_state()
    fill, stroke = svg.set_graphical_state(node, font_size)
    svg.stream.begin_text()
    layout.reactivate(style)
    svg.fill_stroke(fill, stroke, text=True)
    box = TextBox(layout, style)
    box.baseline = baseline
    emojis = draw_first_line(svg.stream, box, "none", "none", Matrix(d=-1, e=x, f=y))
    svg.stream.end_text()
    svg.stream.pop_state()
    draw_emojis(svg.stream, style, x, y, emojis)


def _style(svg, node, font_size: float) -> Style:
    style = Style(INITIAL_VALUES)
    style.font_config = svg.font_config
    families = node.get("font-family", "sans-serif").split(",")
    style["font_family"] = [family.strip(" '\"") for family in families]
    style["font_weight"] = int(node.get("font-weight", 400))
    style["font_size"] = font_size
    return style


weasyprint_svg.TAGS[TAG] = draw_words

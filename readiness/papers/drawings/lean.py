"""A drawing in fewer bytes, the same to look at: for pages, which are sent to phones.

Papers keep a drawing as it is, as they are drawn from each text's own attributes.
"""

import re

from readiness.papers.drawings import svg

_FONT = svg.attributes({"font_family": svg.FONT})
_OF_A_STRAIGHT_LINE = re.compile(r'( d="M[^"LZ]*L[^"LZ]*"[^<>]*) stroke-linejoin="round"')
_TEXTS_ALIKE = re.compile(
    r'<text( x="[^"]*" y="[^"]*")([^<>]*)>[^<]*</text>(?:<text x="[^"]*" y="[^"]*"\2>[^<]*</text>)+'
)


def lean(drawn: str) -> str:
    """The drawing with what its texts share said once, and nothing said that has no effect.

    What people wrote is escaped in it, so that no pattern of markup is found there.
    """
    drawn = _OF_A_STRAIGHT_LINE.sub(r"\1", drawn)
    if _FONT in drawn:
        drawn = drawn.replace(_FONT, "").replace("<svg ", f"<svg{_FONT} ", 1)
    drawn = drawn.replace(' text-anchor="start"', "")
    return _TEXTS_ALIKE.sub(_in_one_group, drawn)


def _in_one_group(texts: re.Match) -> str:
    shared = texts[2]
    if not shared:
        return texts[0]
    return f"<g{shared}>{texts[0].replace(f'{shared}>', '>')}</g>"

"""Characters that no font at hand can draw: found while drawing, and named instead.

A missing glyph would print as a box and break PDF/A (ISO 19005-3, 6.2.11.8, from memory). Which
characters are missing depends on the fonts of the machine, and only the drawing knows.
"""

import logging
import re
import threading
from collections.abc import Iterable

_NAMED = re.compile(r"\(U\+([0-9A-F]{4,6})\)")


class MissingGlyphs(logging.Handler):
    """While it is open, collects the characters that WeasyPrint reports for this thread."""

    def __init__(self):
        super().__init__(logging.WARNING)
        self.found: set[str] = set()
        self._thread = threading.get_ident()
        self.addFilter(lambda record: record.thread == self._thread)

    def emit(self, record: logging.LogRecord) -> None:
        message = record.getMessage()
        if ".notdef" in message:
            self.found |= {chr(int(code, 16)) for code in _NAMED.findall(message)}

    def __enter__(self) -> "MissingGlyphs":
        logging.getLogger("weasyprint").addHandler(self)
        return self

    def __exit__(self, *exception) -> None:
        logging.getLogger("weasyprint").removeHandler(self)


def named(text: str, characters: Iterable[str]) -> str:
    """The text with each of these characters as its code point: "[U+6587]"."""
    table = {ord(character): f"[U+{ord(character):04X}]" for character in characters}
    return text.translate(table)

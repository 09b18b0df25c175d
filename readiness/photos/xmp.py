"""The capture time in a file's XMP packet, for files whose Exif has none.

Editing and messaging programs drop Exif more often than XMP (ISO 16684-1). Whoever edits a file can
write there what they like, so a time is kept with the name of the property that gave it.
"""

import re
from xml.parsers import expat

PACKET_BYTES = 1024 * 1024
DEPTH = 64
VALUE_LENGTH = 64

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns# "
# When the picture was taken; when it was created; when the file's picture came to be. Best first.
PROPERTIES = {
    "http://ns.adobe.com/exif/1.0/ DateTimeOriginal": "exif:DateTimeOriginal",
    "http://ns.adobe.com/photoshop/1.0/ DateCreated": "photoshop:DateCreated",
    "http://ns.adobe.com/xap/1.0/ CreateDate": "xmp:CreateDate",
}
# ISO 16684-1, 8.2.1.2: seconds, their fraction and the zone may be missing.
DATE = re.compile(
    r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d)(:\d\d)?(?:\.\d{1,9})?(Z|[+-]\d\d:\d\d)?", re.ASCII
)


class _RefusedError(Exception):
    """The packet holds what none needs: a document type, or elements nested without end."""


def capture_time(packet: bytes) -> tuple[str, str, str]:
    """Local time as in Exif (``2026:03:04 09:10:11``), offset, and the property that said so.

    All three are empty where the packet has no time of day in it or can't be read; the offset is
    empty where the packet has none.
    """
    found = _properties(packet)
    for name in PROPERTIES.values():
        if match := DATE.fullmatch(found.get(name, "").strip()):
            day, minute, second, zone = match.groups()
            local = f"{day.replace('-', ':')} {minute}{second or ':00'}"
            return local, "+00:00" if zone == "Z" else zone or "", name
    return "", "", ""


def _properties(packet: bytes) -> dict[str, str]:
    """The wanted properties of the file itself, not those of what it was made from."""
    if len(packet) > PACKET_BYTES:
        return {}
    reader = _Reader()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.text
    parser.StartDoctypeDeclHandler = reader.refuse  # without one there are no entities
    try:
        parser.Parse(packet.strip(b"\0 \t\r\n"), True)
    except (expat.ExpatError, _RefusedError, ValueError):
        return {}
    return reader.found


class _Reader:
    """Collects properties that stand right in a top-level description: as attribute or element."""

    def __init__(self):
        self.path: list[str] = []
        self.found: dict[str, str] = {}

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.path.append(name)
        if len(self.path) > DEPTH:
            raise _RefusedError
        if self._in_description(len(self.path)):
            for key, value in attributes.items():
                if key in PROPERTIES:
                    self.found.setdefault(PROPERTIES[key], value[:VALUE_LENGTH])

    def end(self, _name: str) -> None:
        self.path.pop()

    def text(self, words: str) -> None:
        name = self.path[-1] if self.path else ""
        if name in PROPERTIES and self._in_description(len(self.path) - 1):
            before = self.found.get(PROPERTIES[name], "")
            self.found[PROPERTIES[name]] = (before + words)[:VALUE_LENGTH]

    def refuse(self, *_ignored) -> None:
        raise _RefusedError

    def _in_description(self, depth: int) -> bool:
        """Is the element at this depth a description right under the one RDF element?"""
        return (
            2 <= depth <= 3
            and self.path[depth - 1] == f"{RDF}Description"
            and self.path[depth - 2] == f"{RDF}RDF"
        )

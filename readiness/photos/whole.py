"""Is a HEIC or AVIF file whole? Asked before it is decoded, as decoders fill what is missing.

Phones write a picture as a grid of tiles, each an item of its own, and libheif shows a file that
was cut off with flat tiles in place of the lost ones. So the boxes are walked here: what `iloc`
places has to lie inside the file, and everything that the shown picture is put together from has
to be there. Boxes, `iloc`, `iref` and `pitm` are those of ISO/IEC 14496-12, grids those of
ISO/IEC 23008-12, units of HEVC in an item those of ISO/IEC 14496-15.

What follows the picture and carries none of it (free space, a film, a trailer of the camera) may be
cut or unknown: the picture does not change by it.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import BinaryIO

TOP_BOXES = 5_000
META_BYTES = 4 * 1024 * 1024
EXTENTS = 100_000
UNIT_HEADER_BYTES = 2
NEVER_CUT = {b"ftyp", b"meta", b"mdat", b"moov"}


class NotWholeError(Exception):
    """The file is cut off, or does not say what a whole one says; the reason is for developers."""


@dataclass(frozen=True)
class Box:
    """One box of `data`: its name, where its content starts and where it ends."""

    name: bytes
    start: int
    end: int


@dataclass
class Item:
    """Where the bytes of an item lie: (offset, length) pieces in the file or in `idat`."""

    in_idat: bool = False
    elsewhere: bool = False
    pieces: list[tuple[int, int]] = field(default_factory=list)


class Fields:
    """Reads big-endian numbers one after the other; past the end is an error."""

    def __init__(self, data: bytes, start: int, end: int):
        self.data, self.at, self.end = data, start, end

    def number(self, size: int) -> int:
        if self.at + size > self.end:
            raise NotWholeError("a box is shorter than what it lists")
        self.at += size
        return int.from_bytes(self.data[self.at - size : self.at], "big")

    def name(self) -> bytes:
        return self.number(4).to_bytes(4, "big")


def require_whole(path: str) -> None:
    """Raise `NotWholeError` unless everything the file's picture is made of lies in the file."""
    with open(path, "rb") as file:
        size = os.fstat(file.fileno()).st_size
        meta = _meta(file, size)
        if meta is not None:
            _Picture(file, size, meta).require_whole()


def _meta(file: BinaryIO, size: int) -> bytes | None:
    """The content of the file's `meta` box; None for a film, which has none and is whole."""
    meta, film = None, False
    for name, start, end in _top_boxes(file, size):
        if end > size:
            if name in NEVER_CUT:
                raise NotWholeError(f"{name!r} ends {end - size} bytes after the file")
            break
        film = film or name == b"moov"
        if name == b"meta" and meta is None:
            if end - start > META_BYTES:
                raise NotWholeError("its description is too large")
            file.seek(start)
            meta = file.read(end - start)
    if meta is None and not film:
        raise NotWholeError("nothing describes the picture")
    return meta


def _top_boxes(file: BinaryIO, size: int) -> Iterator[tuple[bytes, int, int]]:
    """Name, start and end of the content of each box; the last may end after the file."""
    at = 0
    for _ in range(TOP_BOXES):
        file.seek(at)
        head = file.read(16)
        if len(head) < 8:
            return
        length, name, start = int.from_bytes(head[:4], "big"), head[4:8], at + 8
        if length == 1:
            length, start = int.from_bytes(head[8:16], "big"), at + 16
        end = size if length == 0 else at + length
        if end < start:
            return  # no box: whatever follows the picture
        yield name, start, end
        at = end
    raise NotWholeError("it has too many boxes")


def _boxes(data: bytes, start: int, end: int) -> Iterator[Box]:
    """The boxes inside one; each has to fit."""
    while start + 8 <= end:
        length, name = int.from_bytes(data[start : start + 4], "big"), data[start + 4 : start + 8]
        content = start + 8
        if length == 1:
            length = int.from_bytes(data[start + 8 : start + 16], "big")
            content = start + 16
        stop = end if length == 0 else start + length
        if stop < content or stop > end:
            raise NotWholeError(f"{name!r} does not fit where it lies")
        yield Box(name, content, stop)
        start = stop


class _Picture:
    """What a `meta` box says of items, and the check that they are all there."""

    def __init__(self, file: BinaryIO, size: int, meta: bytes):
        self.file, self.size, self.meta = file, size, meta
        self.items: dict[int, Item] = {}
        self.types: dict[int, bytes] = {}
        self.made_of: dict[int, list[int]] = {}
        self.primary: int | None = None
        self.idat = (0, 0)
        self.unit_length_bytes: set[int] = set()
        self.bytes_left = 2 * size + META_BYTES  # items that share bytes must not cost for ever
        readers = {
            b"iloc": self._read_iloc,
            b"iinf": self._read_iinf,
            b"iref": self._read_iref,
            b"pitm": self._read_pitm,
        }
        for box in _boxes(meta, 4, len(meta)):
            if box.name == b"idat":
                self.idat = (box.start, box.end)
            elif box.name == b"iprp":
                self._read_iprp(box)
            elif box.name in readers:
                fields = Fields(meta, box.start, box.end)
                readers[box.name](fields, version=fields.number(4) >> 24)

    # --- reading ------------------------------------------------------------------------------

    def _read_iloc(self, fields: Fields, version: int) -> None:
        packed = fields.number(2)
        offset_size, length_size, base_size, index_size = (
            packed >> shift & 15 for shift in (12, 8, 4, 0)
        )
        if not {offset_size, length_size, base_size} <= {0, 4, 8} or version > 2:
            raise NotWholeError("its list of places can't be read")
        index_size = index_size if version else 0
        id_size, extents = 4 if version == 2 else 2, 0
        for _ in range(fields.number(id_size)):
            number = fields.number(id_size)
            method = fields.number(2) & 15 if version else 0
            elsewhere = fields.number(2) != 0
            base, count = fields.number(base_size), fields.number(2)
            extents += count
            if extents > EXTENTS:
                raise NotWholeError("its list of places is too long")
            item = Item(in_idat=method == 1, elsewhere=elsewhere or method > 1)
            for _ in range(count):
                fields.number(index_size)
                offset = base + fields.number(offset_size)
                item.pieces.append((offset, fields.number(length_size)))
            self.items[number] = item

    def _read_iinf(self, fields: Fields, version: int) -> None:
        fields.number(4 if version else 2)
        for box in _boxes(self.meta, fields.at, fields.end):
            entry = Fields(self.meta, box.start, box.end)
            entry_version = entry.number(4) >> 24
            if box.name != b"infe" or entry_version < 2:
                continue
            number = entry.number(4 if entry_version > 2 else 2)
            entry.number(2)
            self.types[number] = entry.name()

    def _read_iref(self, fields: Fields, version: int) -> None:
        id_size = 4 if version else 2
        for box in _boxes(self.meta, fields.at, fields.end):
            if box.name != b"dimg":
                continue
            entry = Fields(self.meta, box.start, box.end)
            whole = entry.number(id_size)
            parts = [entry.number(id_size) for _ in range(entry.number(2))]
            self.made_of.setdefault(whole, []).extend(parts)

    def _read_pitm(self, fields: Fields, version: int) -> None:
        self.primary = fields.number(4 if version else 2)

    def _read_iprp(self, properties: Box) -> None:
        for inner in _boxes(self.meta, properties.start, properties.end):
            if inner.name != b"ipco":
                continue
            for box in _boxes(self.meta, inner.start, inner.end):
                if box.name == b"hvcC" and box.end - box.start > 21:
                    self.unit_length_bytes.add((self.meta[box.start + 21] & 3) + 1)

    # --- checking -----------------------------------------------------------------------------

    def require_whole(self) -> None:
        for number, item in self.items.items():
            self._require_inside(number, item)
        if self.primary is None:
            raise NotWholeError("it does not say which picture to show")
        seen: set[int] = set()
        waiting = [self.primary]
        while waiting:
            number = waiting.pop()
            if number in seen:
                continue
            seen.add(number)
            self._require_content(number)
            waiting.extend(self.made_of.get(number, ()))

    def _require_inside(self, number: int, item: Item) -> None:
        if item.elsewhere:
            return  # bytes of other items, which are looked at themselves, or of another file
        limit = self.idat[1] - self.idat[0] if item.in_idat else self.size
        for offset, length in item.pieces:
            if offset + length > limit or (length == 0 and offset >= limit > 0):
                raise NotWholeError(f"item {number} ends after the file")

    def _require_content(self, number: int) -> None:
        """An item that the shown picture needs has bytes, and a grid has all of its tiles."""
        kind, parts = self.types.get(number), self.made_of.get(number, [])
        if kind == b"iden" and parts:
            return  # a turned or cropped copy: it has no bytes of its own
        item = self.items.get(number)
        if item is None or not item.pieces:
            raise NotWholeError(f"item {number} has no place in the file")
        if kind == b"grid":
            if item.elsewhere:
                raise NotWholeError(f"the tiles of item {number} can't be counted")
            head = self._content(item, 4)
            tiles = (head[2] + 1) * (head[3] + 1) if len(head) == 4 else -1
            if tiles != len(parts):
                raise NotWholeError(f"the grid of {tiles} tiles lists {len(parts)}")
        elif kind == b"hvc1" and self.unit_length_bytes <= {4} and not item.elsewhere:
            _require_units(self._content(item), number)

    def _content(self, item: Item, most: int | None = None) -> bytes:
        """The bytes of an item, or the first of them."""
        parts, wanted = [], most
        for offset, length in item.pieces:
            limit = self.idat[1] - self.idat[0] if item.in_idat else self.size
            count = length or limit - offset
            count = count if wanted is None else min(count, wanted)
            self.bytes_left -= count
            if self.bytes_left < 0:
                raise NotWholeError("its items share too many bytes")
            if item.in_idat:
                start = self.idat[0] + offset
                parts.append(self.meta[start : start + count])
            else:
                self.file.seek(offset)
                parts.append(self.file.read(count))
            wanted = None if wanted is None else wanted - count
        return b"".join(parts)


def _require_units(content: bytes, number: int) -> None:
    """HEVC in an item is units, each after its length: a hole of zeros has units of no length."""
    at = 0
    while at < len(content):
        length = int.from_bytes(content[at : at + 4], "big")
        if length < UNIT_HEADER_BYTES or at + 4 + length > len(content):
            raise NotWholeError(f"item {number} breaks off in the middle of its picture")
        at += 4 + length
    if not content:
        raise NotWholeError(f"item {number} is empty")

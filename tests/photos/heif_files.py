"""Writing HEIC and AVIF files box by box, as cameras lay them out: a grid of tiles, each an item.

The layout follows ISO/IEC 14496-12 (boxes, `iloc`, `iref`) and ISO/IEC 23008-12 (`grid`); from
memory: the field widths, held against libheif, which has to read what is written here.
"""

import struct
from dataclasses import dataclass

import numpy as np
from PIL import Image

from .pictures import encoded

TILE = 128


def box(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I4s", 8 + len(body), name) + body


def full(name: bytes, body: bytes, version: int = 0, flags: int = 0) -> bytes:
    return box(name, struct.pack(">I", version << 24 | flags) + body)


def free(size: int = 64) -> bytes:
    return box(b"free", b"\0" * size)


def noise(width: int, height: int, seed: int = 1) -> Image.Image:
    """A picture whose every part differs and takes room."""
    coarse = np.random.default_rng(seed).integers(0, 255, (height // 8, width // 8, 3), np.uint8)
    return Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC)


@dataclass(frozen=True)
class Coded:
    """One coded picture taken out of a file: its codec's configuration box and its bytes."""

    config: bytes
    data: bytes


def coded(picture: Image.Image, kind: str = "HEIF") -> Coded:
    content = encoded(kind, picture, quality=60)
    name = b"hvcC" if kind == "HEIF" else b"av1C"
    at = content.index(name) - 4
    size = int.from_bytes(content[at : at + 4], "big")
    mdat = content.index(b"mdat") + 4
    return Coded(content[at : at + size], content[mdat:])


@dataclass(frozen=True)
class Layout:
    """How a file is laid out; every choice here is allowed by the standard."""

    iloc_version: int = 1
    offset_size: int = 4
    length_size: int = 4
    base_size: int = 0
    grid_in_idat: bool = True
    mdat_first: bool = False
    mdat_to_end: bool = False
    mdat_long_size: bool = False
    extents: int = 1
    after: bytes = b""


CAMERA = Layout()


def grid_file(columns=3, rows=2, layout: Layout = CAMERA, *, kind="HEIF", seed=1) -> bytes:
    """A picture of `columns` x `rows` tiles, each an item of its own, as phones write them."""
    picture = noise(columns * TILE, rows * TILE, seed)
    tiles = [
        coded(picture.crop((x * TILE, y * TILE, (x + 1) * TILE, (y + 1) * TILE)), kind)
        for y in range(rows)
        for x in range(columns)
    ]
    grid = struct.pack(">BBBBHH", 0, 0, rows - 1, columns - 1, *picture.size)
    return _written(tiles, grid, picture.size, layout, kind)


def many_tiles(columns: int, rows: int, tile_px: int) -> bytes:
    """A large picture of one tile over and over: soon written, and as much work to decode."""
    one, size = coded(noise(tile_px, tile_px)), (columns * tile_px, rows * tile_px)
    grid = struct.pack(">BBBBII", 0, 1, rows - 1, columns - 1, *size)
    return _written([one] * (columns * rows), grid, size, CAMERA, "HEIF", tile_px)


def _written(tiles, grid, size, layout, kind, tile_px=TILE) -> bytes:
    brand = b"heic" if kind == "HEIF" else b"avif"
    head = box(b"ftyp", brand + b"\0\0\0\0mif1" + brand + b"miaf")
    parts = [tile.data for tile in tiles]
    if not layout.grid_in_idat:
        parts.append(grid)
    mdat = _mdat(b"".join(parts), layout)
    into = len(mdat) - sum(map(len, parts))

    def meta_at(start: int) -> bytes:
        offsets, at = [], start + into
        for part in parts:
            offsets.append((at, len(part)))
            at += len(part)
        return _meta(tiles, grid, size, offsets, layout, kind, tile_px)

    length = len(meta_at(0))
    if layout.mdat_first:
        return head + mdat + meta_at(len(head)) + layout.after
    return head + meta_at(len(head) + length) + mdat + layout.after


def _mdat(body: bytes, layout: Layout) -> bytes:
    if layout.mdat_to_end:
        return struct.pack(">I4s", 0, b"mdat") + body
    if layout.mdat_long_size:
        return struct.pack(">I4sQ", 1, b"mdat", 16 + len(body)) + body
    return box(b"mdat", body)


def _meta(tiles, grid, size, offsets, layout, kind, tile_px) -> bytes:
    coding = b"hvc1" if kind == "HEIF" else b"av01"
    last = len(tiles) + 1
    infos = [
        full(b"infe", struct.pack(">HH4s", number, 0, coding) + b"\0", 2, 1)
        for number in range(1, last)
    ]
    infos.append(full(b"infe", struct.pack(">HH4s", last, 0, b"grid") + b"\0", 2))
    references = struct.pack(f">HH{len(tiles)}H", last, len(tiles), *range(1, last))
    spots = [(number, 0, *spot) for number, spot in enumerate(offsets[: len(tiles)], 1)]
    spots.append((last, 1, 0, len(grid)) if layout.grid_in_idat else (last, 0, *offsets[-1]))
    handler = struct.pack(">I4s12s", 0, b"pict", b"") + b"\0"
    children = [
        full(b"hdlr", handler),
        full(b"pitm", struct.pack(">H", last)),
        _iloc(spots, layout),
        full(b"iinf", struct.pack(">H", len(infos)) + b"".join(infos)),
        full(b"iref", box(b"dimg", references)),
        _properties(tiles, size, last, tile_px),
    ]
    if layout.grid_in_idat:
        children.append(box(b"idat", grid))
    return full(b"meta", b"".join(children))


def _iloc(spots, layout: Layout) -> bytes:
    version = layout.iloc_version
    wide = ">I" if version == 2 else ">H"
    sizes = struct.pack(">BB", layout.offset_size << 4 | layout.length_size, layout.base_size << 4)
    body = sizes + struct.pack(wide, len(spots))
    for number, method, offset, length in spots:
        base = offset if layout.base_size else 0
        pieces = _pieces(offset - base, length, layout.extents)
        body += struct.pack(wide, number)
        body += struct.pack(">H", method) if version else b""
        body += struct.pack(">H", 0) + base.to_bytes(layout.base_size, "big")
        body += struct.pack(">H", len(pieces))
        for at, count in pieces:
            body += at.to_bytes(layout.offset_size, "big")
            body += count.to_bytes(layout.length_size, "big")
    return full(b"iloc", body, version)


def _pieces(offset: int, length: int, count: int) -> list[tuple[int, int]]:
    if count == 1 or length < count:
        return [(offset, length)]
    step = length // count
    starts = [offset + step * number for number in range(count)]
    return [(at, step) for at in starts[:-1]] + [(starts[-1], length - step * (count - 1))]


def _properties(tiles, size, last, tile_px) -> bytes:
    held = [
        tiles[0].config,
        full(b"ispe", struct.pack(">II", tile_px, tile_px)),
        full(b"ispe", struct.pack(">II", *size)),
        full(b"pixi", b"\3\x08\x08\x08"),
    ]
    entries = b"".join(
        struct.pack(">HB", number, 3) + bytes((0x81, 2, 4)) for number in range(1, last)
    )
    entries += struct.pack(">HB", last, 2) + bytes((3, 4))
    association = full(b"ipma", struct.pack(">I", last) + entries)
    return box(b"iprp", box(b"ipco", b"".join(held)) + association)

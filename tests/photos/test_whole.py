"""Pictures that were cut off are refused, whatever their kind and wherever the cut is."""

import io
import re
import struct
import uuid
from collections.abc import Callable
from functools import cache, partial

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.models import Photo
from readiness.photos import kinds, pixels, whole
from readiness.photos.decoder import DecodingError, decode
from readiness.photos.intake import receive
from readiness.photos.refused import PhotoRefused

from .heif_files import CAMERA, TILE, Layout, box, free, full, grid_file, noise
from .pictures import encoded

LAYOUTS = {
    "as phones write": CAMERA,
    "iloc version 0, grid in mdat": Layout(iloc_version=0, grid_in_idat=False),
    "iloc version 2, base offsets": Layout(iloc_version=2, base_size=8),
    "mdat first": Layout(mdat_first=True),
    "mdat to the end of the file": Layout(mdat_to_end=True),
    "long mdat, two pieces an item": Layout(mdat_long_size=True, extents=2),
    "eight-byte places": Layout(offset_size=8, length_size=8, base_size=4),
    "free space after": Layout(after=free()),
}


@cache
def camera_file(name: str) -> bytes:
    return grid_file(layout=LAYOUTS[name])


def is_whole(content: bytes, tmp_path) -> bool:
    path = tmp_path / uuid.uuid4().hex
    path.write_bytes(content)
    try:
        whole.require_whole(str(path))
    except whole.NotWholeError:
        return False
    return True


def shown(content: bytes, tmp_path) -> bytes | None:
    """The large size that a decoder makes of the file; None when it refuses it."""
    path = tmp_path / uuid.uuid4().hex
    path.write_bytes(content)
    kind = kinds.kind_of(content[: kinds.HEAD_BYTES])
    if kind not in pixels.FORMATS:
        return None
    try:
        decode(path, kind, tmp_path / "large", tmp_path / "small")
    except DecodingError as error:
        if error.problem != "broken":
            raise
        return None
    return (tmp_path / "large").read_bytes()


def test_a_description_may_be_as_large_as_the_limit(tmp_path, monkeypatch):
    content = camera_file("as phones write")
    (at,) = (found.start() - 4 for found in re.finditer(b"meta", content))
    length = int.from_bytes(content[at : at + 4], "big") - 8
    monkeypatch.setattr(whole, "META_BYTES", length)
    assert is_whole(content, tmp_path)
    monkeypatch.setattr(whole, "META_BYTES", length - 1)
    assert not is_whole(content, tmp_path)


@pytest.mark.parametrize("kind", ["HEIF", "AVIF"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_a_whole_file_of_each_layout_is_read(kind, name, tmp_path):
    from PIL import Image

    content = grid_file(layout=LAYOUTS[name], kind=kind)
    assert is_whole(content, tmp_path)
    with Image.open(io.BytesIO(shown(content, tmp_path))) as read:
        difference = np.asarray(read.convert("RGB"), int) - np.asarray(noise(3 * TILE, 2 * TILE))
    assert np.abs(difference).mean() < 10


@pytest.mark.django_db
@pytest.mark.parametrize("share", [0.3, 0.5, 0.7, 0.9, 0.99])
@pytest.mark.parametrize("name", LAYOUTS)
def test_half_a_camera_file_is_refused_by_name_with_what_to_do(name, share, site, applicator):
    content = camera_file(name)
    end = len(content) - len(LAYOUTS[name].after)
    file = io.BytesIO(content[: int(end * share)])
    with pytest.raises(PhotoRefused) as refused:
        receive(file, site=site, uploaded_by=applicator, filename="IMG_0042.heic")
    assert refused.value.message == (
        "“IMG_0042.heic” is damaged or incomplete, so it can't be kept as evidence. "
        "Send it again, or take the photo again."
    )
    assert not Photo.objects.exists()


def test_a_hole_of_zeros_in_the_place_of_tiles_is_refused(tmp_path):
    content = camera_file("as phones write")
    half = len(content) // 2
    assert shown(content, tmp_path)
    holed = content[:half] + bytes(len(content) - half)
    assert not is_whole(holed, tmp_path)
    assert shown(holed, tmp_path) is None


EVERY_KIND: dict[str, Callable[[], bytes]] = {
    **{name: partial(camera_file, name) for name in LAYOUTS},
    "AVIF grid": lambda: grid_file(kind="AVIF"),
    "AVIF grid, mdat to the end": lambda: grid_file(kind="AVIF", layout=Layout(mdat_to_end=True)),
    "AVIF": lambda: encoded("AVIF", noise(320, 240)),
    "HEIC of one picture": lambda: encoded("HEIF", noise(320, 240)),
    "JPEG": lambda: encoded("JPEG", noise(320, 240)),
    "progressive JPEG": lambda: encoded("JPEG", noise(320, 240), progressive=True),
    "PNG": lambda: encoded("PNG", noise(320, 240)),
    "WebP": lambda: encoded("WEBP", noise(320, 240)),
    "lossless WebP": lambda: encoded("WEBP", noise(320, 240), lossless=True),
}
"""Made when a test asks for one: each process that collects tests would make them all."""


@cache
def file_of(name: str) -> bytes:
    return EVERY_KIND[name]()


SHOWN_WHOLE: dict[str, bytes] = {}


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(name=st.sampled_from(sorted(EVERY_KIND)), share=st.floats(0, 1), back=st.integers(0, 80))
def test_a_cut_anywhere_is_refused_or_changes_no_pixel(name, share, back, tmp_path):
    """Only what carries none of the picture may be missing: an end mark, free space after it."""
    content = file_of(name)
    if name not in SHOWN_WHOLE:
        SHOWN_WHOLE[name] = shown(content, tmp_path)
        assert SHOWN_WHOLE[name]
    cut = content[: int(len(content) * share)] if share < 0.9 else content[: len(content) - back]
    assert shown(cut, tmp_path) in (None, SHOWN_WHOLE[name])


@settings(
    max_examples=300,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    name=st.sampled_from(sorted(LAYOUTS)),
    at=st.integers(0, 900),
    patch=st.one_of(st.binary(min_size=1, max_size=8), st.sampled_from([b"\xff" * 8, b"\0" * 8])),
)
def test_hostile_bytes_in_the_description_never_do_more_than_refuse(name, at, patch, tmp_path):
    content = camera_file(name)
    is_whole(content[:at] + patch + content[at + len(patch) :], tmp_path)


def test_hostile_counts_and_sizes_are_refused_soon(tmp_path):
    head = box(b"ftyp", b"heic\0\0\0\0mif1heic")
    nothing_wide = struct.pack(">BBH", 0, 0, 0xFFFF) + struct.pack(">HHH", 1, 0, 0xFFFF) * 65535
    for body in (
        full(b"meta", full(b"iloc", nothing_wide)),
        full(b"meta", full(b"iloc", b"\x44\x40\xff\xff")),
        full(b"meta", full(b"iloc", b"\x33\x33" + bytes(200))),
        full(b"meta", full(b"iloc", b"\x44\x40\0\0", version=7)),
        full(b"meta", full(b"iref", box(b"dimg", struct.pack(">HH", 1, 0xFFFF)))),
        full(b"meta", box(b"idat", b"") + b"\xff\xff\xff\xffilocx"),
        struct.pack(">I4sQ", 1, b"meta", 2**63),
        struct.pack(">I4s", 0, b"meta") + bytes(8_000_000),
        box(b"free", b"") * 20_000,
        b"",
    ):
        assert not is_whole(head + body, tmp_path)


def test_items_made_of_each_other_end(tmp_path):
    references = box(b"dimg", struct.pack(">HHH", 1, 1, 2)) + box(
        b"dimg", struct.pack(">HHH", 2, 1, 1)
    )
    infos = b"".join(
        full(b"infe", struct.pack(">HH4s", number, 0, b"iden") + b"\0", 2) for number in (1, 2)
    )
    children = full(b"pitm", b"\0\1") + full(b"iinf", b"\0\2" + infos) + full(b"iref", references)
    assert is_whole(box(b"ftyp", b"heic\0\0\0\0") + full(b"meta", children), tmp_path)


def test_a_trailer_of_the_camera_after_the_picture_is_no_damage(tmp_path):
    content = camera_file("as phones write")
    film = struct.pack(">I4s", 900_000, b"mpvd") + b"cut off"
    for trailer in (b"\0", b"SEFT", bytes(40), b"PK\3\4" + bytes(30), film, free()[:20]):
        assert shown(content + trailer, tmp_path) == shown(content, tmp_path)


def test_the_kind_follows_from_the_brands():
    def start(main: bytes, *compatible: bytes) -> bytes:
        return box(b"ftyp", main + b"\0\0\0\0" + b"".join(compatible))

    assert kinds.kind_of(start(b"heic", b"mif1", b"heic")) == "HEIF"
    assert kinds.kind_of(start(b"mif1", b"mif1", b"heic")) == "HEIF"
    assert kinds.kind_of(start(b"avif", b"mif1", b"miaf")) == "AVIF"
    assert kinds.kind_of(start(b"mif1", b"avif", b"miaf")) == "AVIF"
    assert kinds.kind_of(start(b"mif1", b"miaf", b"mif1", b"avif")) == "AVIF"
    assert kinds.kind_of(start(b"mif1", b"heic", b"avif")) == "HEIF"
    assert kinds.kind_of(start(b"isom", b"mp41")) is None
    assert kinds.kind_of(start(b"qt  ")) is None


@pytest.mark.django_db
@pytest.mark.parametrize("start", [b"\xff\x0a", b"\0\0\0\x0cJXL \r\n\x87\n"])
def test_jpeg_xl_gets_a_word_of_its_own(start, site, applicator):
    # The two starts of a JPEG XL file: from memory of ISO/IEC 18181-2.
    with pytest.raises(PhotoRefused) as refused:
        receive(
            io.BytesIO(start + bytes(200)), site=site, uploaded_by=applicator, filename="gate.jxl"
        )
    assert refused.value.message == (
        "“gate.jxl” is JPEG XL, which can't be read yet. Send it as JPEG or HEIC."
    )


@pytest.mark.parametrize("patch", [b"\x00\x00\x00\x01\x80", b"\x00\x00\x00\x01\x01"])
def test_a_grid_that_says_its_tiles_are_listed_elsewhere_is_refused(patch, tmp_path):
    """Where else is a place no file is long enough for; found by the test above."""
    content = camera_file("iloc version 2, base offsets")
    assert not is_whole(content[:265] + patch + content[265 + len(patch) :], tmp_path)

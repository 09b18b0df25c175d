"""Page one of some papers, as pictures, against approved ones: a slip of the layout shows.

The pictures are coarse (24 dots an inch, grey) and compared tile by tile, each by its own ink: what
is missing, moved by 5 mm or added shows however much of the page is as it was. Another version of
the font, or another way to smooth letters, is no slip: measured on the twelve papers, Inter 3.19
and 4.1 and another rasteriser differ by up to 0.13 of a tile, and a tile moved by 5 mm by 0.28.
To approve a change that was meant, look at the papers, then run
`APPROVE=1 pytest tests/papers/test_looks.py`.
"""

import io
import os
import subprocess
from functools import cache
from pathlib import Path

import numpy
import pytest
from PIL import Image, ImageFilter

from readiness.models import Business
from readiness.papers.render import render_sample
from tests.papers import reports

APPROVED = Path(__file__).parent / "approved"
KINDS = [
    "site_report", "fix_list", "photo_record", "confirmation", "treatment", "guide", "rule_values",
]  # fmt: skip
SIZES = ["A4", "letter"]
ACROSS, DOWN = 4, 6
MOST_DIFFERENCE = 0.2  # of a tile's ink
FAINT = 2.0  # of 255: next to no ink is compared with this, not with itself
PAPER = 255
PAGES = [f"{kind}-{size}" for kind in KINDS for size in SIZES]


TO_PNG = ("-r", "72", "-f", "1", "-l", "1", "-gray", "-png")
POPPLERS = {
    "splash": ("pdftoppm", *TO_PNG, "-"),
    "cairo": ("pdftocairo", *TO_PNG, "-singlefile", "-", "-"),
}
"""Two ways to draw a page that smooth letters differently."""


def picture(content: bytes, way: str = "splash") -> Image.Image:
    """Page one, drawn three times as fine as it is kept: how letters are smoothed evens out."""
    done = subprocess.run(POPPLERS[way], input=content, capture_output=True, check=True)
    return Image.open(io.BytesIO(done.stdout)).convert("L").reduce(3)


def ink(page: Image.Image) -> numpy.ndarray:
    """How dark each dot is, smoothed over 5 mm: letters may be a dot to the side."""
    return PAPER - numpy.asarray(page.filter(ImageFilter.BoxBlur(2)), dtype="float32")


def by_tile(dots: numpy.ndarray) -> numpy.ndarray:
    """The mean of each tile."""
    tiles = Image.fromarray(dots).resize((ACROSS, DOWN), Image.Resampling.BOX)
    return numpy.asarray(tiles)


def slips(page: Image.Image, approved: Image.Image) -> list[str]:
    """Which tiles don't look as approved, and by how much."""
    if page.size != approved.size:
        return [f"{page.size} dots, not {approved.size}"]
    now, before = ink(page), ink(approved)
    most = numpy.maximum(by_tile(now), by_tile(before))
    apart = by_tile(numpy.abs(now - before)) / (most + FAINT)
    return [
        f"row {row + 1} of {DOWN}, column {column + 1} of {ACROSS}: {apart[row, column]:.2f}"
        for row, column in numpy.argwhere(apart > MOST_DIFFERENCE)
    ]


def approved_picture(kind: str, size: str) -> Image.Image:
    return Image.open(APPROVED / f"{kind}-{size}.png").convert("L")


@cache
def sample(kind: str, size: str) -> bytes:
    """The sample of a kind of paper as it is made now."""
    return render_sample(kind, Business(**reports.LETTERHEAD, paper_size=size)).content


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", KINDS)
def test_page_one_looks_as_approved(kind, size, tmp_path):
    page = picture(sample(kind, size))
    if os.environ.get("APPROVE"):
        page.save(APPROVED / f"{kind}-{size}.png", optimize=True)
    page.save(tmp_path / "now.png")
    found = slips(page, approved_picture(kind, size))
    assert not found, f"{found}; page one as it is now: {tmp_path / 'now.png'}"


@pytest.mark.parametrize("kind", KINDS)
def test_another_way_to_smooth_letters_is_no_slip(kind):
    assert slips(picture(sample(kind, "A4"), "cairo"), approved_picture(kind, "A4")) == []


def boxes(page: Image.Image, across: int, down: int):
    """The page cut into so many parts, each by its corners."""
    wide, high = page.size
    for row in range(down):
        for column in range(across):
            yield (
                column * wide // across,
                row * high // down,
                (column + 1) * wide // across,
                (row + 1) * high // down,
            )


def inked(page: Image.Image, across: int, down: int):
    """Those parts that something is printed on: more than the edge of what stands beside it."""
    for box in boxes(page, across, down):
        if PAPER - numpy.asarray(page.crop(box)).mean() > FAINT:
            yield box


def without(page: Image.Image, box) -> Image.Image:
    """The page with nothing printed there."""
    blanked = page.copy()
    blanked.paste(PAPER, box)
    return blanked


def moved(page: Image.Image, box, right: int, down: int) -> Image.Image:
    """The page with what is printed there moved by so many dots."""
    there = without(page, box)
    there.paste(page.crop(box), (box[0] + right, box[1] + down))
    return there


@pytest.fixture
def page(request):
    return approved_picture(*request.param.split("-"))


@pytest.mark.parametrize(("across", "down"), [(2, 2), (ACROSS, DOWN)], ids=["quarters", "tiles"])
@pytest.mark.parametrize("page", PAGES, indirect=True)
def test_a_part_that_is_missing_is_a_slip(page, across, down):
    parts = list(inked(page, across, down))
    assert len(parts) > across * down / 2
    assert [box for box in parts if not slips(without(page, box), page)] == []


@pytest.mark.parametrize("page", PAGES, indirect=True)
def test_a_part_that_stands_5_mm_lower_is_a_slip(page):
    assert [
        box for box in inked(page, ACROSS, DOWN) if not slips(moved(page, box, 0, 5), page)
    ] == []


@pytest.mark.parametrize("page", PAGES, indirect=True)
def test_a_line_of_letters_where_nothing_was_is_a_slip(page):
    printed = list(inked(page, ACROSS, DOWN))
    for left, top, right, bottom in boxes(page, ACROSS, DOWN):
        if (left, top, right, bottom) not in printed:
            more = page.copy()
            more.paste(PAPER // 2, (left + 4, top + 20, right - 4, top + 24))
            assert slips(more, page), (left, top)

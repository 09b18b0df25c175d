"""Page one of some papers, as pictures, against approved ones: a slip of the layout shows.

The pictures are coarse (24 dots an inch, grey) and the tolerance is wide enough for another
version of the font. To approve a change that was meant, look at the papers, then run
`APPROVE=1 pytest tests/papers/test_looks.py`.
"""

import io
import os
import subprocess
from pathlib import Path

import numpy
import pytest
from PIL import Image

from readiness.papers.render import render_sample
from tests.papers import reports

APPROVED = Path(__file__).parent / "approved"
MOST_DIFFERENCE = 5.0  # mean of 0 to 255, over blocks of 4 x 4 dots


def first_page(content: bytes) -> numpy.ndarray:
    made = subprocess.run(
        ["pdftoppm", "-r", "24", "-f", "1", "-l", "1", "-gray", "-png", "-"],
        input=content,
        capture_output=True,
        check=True,
    )
    return numpy.asarray(Image.open(io.BytesIO(made.stdout)).convert("L"), dtype=float)


def blurred(page: numpy.ndarray) -> numpy.ndarray:
    high, wide = (side // 4 * 4 for side in page.shape)
    return page[:high, :wide].reshape(high // 4, 4, wide // 4, 4).mean(axis=(1, 3))


@pytest.mark.django_db
@pytest.mark.parametrize("size", ["A4", "letter"])
@pytest.mark.parametrize(
    "kind", ["site_report", "fix_list", "photo_record", "confirmation", "treatment", "guide"]
)
def test_page_one_looks_as_approved(kind, size):
    business = reports.set_business(paper_size=size)
    page = first_page(render_sample(kind, business).content)
    path = APPROVED / f"{kind}-{size}.png"
    if os.environ.get("APPROVE"):
        APPROVED.mkdir(exist_ok=True)
        Image.fromarray(page.astype("uint8")).save(path, optimize=True)
    approved = numpy.asarray(Image.open(path).convert("L"), dtype=float)
    assert page.shape == approved.shape
    assert numpy.abs(blurred(page) - blurred(approved)).mean() < MOST_DIFFERENCE


def test_the_tolerance_is_narrow_enough_to_see_a_paragraph_move():
    approved = numpy.asarray(Image.open(APPROVED / "confirmation-A4.png").convert("L"), dtype=float)
    moved = numpy.roll(approved, 6, axis=0)
    assert numpy.abs(blurred(moved) - blurred(approved)).mean() > MOST_DIFFERENCE

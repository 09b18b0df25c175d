"""What poppler's programs read in a PDF, for the papers' tests."""

import io
import re
import subprocess
import tempfile

from PIL import Image

from tests.papers import reports


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def pages_of(content: bytes) -> list[str]:
    return [flat(page) for page in reports.text_of(content, "-raw").split("\f")[:-1]]


def images_of(content: bytes) -> list[list[str]]:
    """The rows of `pdfimages -list`."""
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(content)
        file.flush()
        listed = subprocess.run(
            ["pdfimages", "-list", file.name], capture_output=True, check=True, text=True
        )
    return [line.split() for line in listed.stdout.splitlines()[2:]]


def first_page(content: bytes, dpi: int) -> Image.Image:
    made = subprocess.run(
        ["pdftoppm", "-r", str(dpi), "-f", "1", "-l", "1", "-png", "-"],
        input=content,
        capture_output=True,
        check=True,
    )
    return Image.open(io.BytesIO(made.stdout))

"""The words of a paper's drawings: each line drawn whole, and none left out."""

import subprocess
from xml.etree import ElementTree

import pytest

from readiness.models import Paper
from readiness.papers import figures
from readiness.papers.drawings import svg
from readiness.papers.render import render_sample
from tests.papers import reports


def test_what_people_wrote_in_a_drawing_is_not_taken_for_its_markup():
    wrote = "<text >b</text>"
    drawn = svg.drawing([svg.text(5, 20, wrote)], 100, 50, wrote, wrote, "a")
    read = ElementTree.fromstring(figures.fitted(drawn, 100, 50))
    assert [element.text for element in read.iter("{http://www.w3.org/2000/svg}words")] == [wrote]
    assert wrote in read[0].text


@pytest.mark.django_db
def test_every_line_of_words_of_a_drawing_is_in_the_paper():
    content = render_sample(Paper.Kind.FIX_LIST, reports.set_business()).content
    text = subprocess.run(
        ["pdftotext", "-layout", "-", "-"], input=content, capture_output=True, check=True
    ).stdout.decode()
    for words in ("top of slab", "treated band", "ground today", "weep holes"):
        assert words in text

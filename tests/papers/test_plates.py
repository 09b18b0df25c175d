"""Drawings lifted out of a page: pictures in their place, with their words as alternative."""

from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from readiness.papers import figures, plates
from readiness.papers.drawings import svg

WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc", "Cn", "Co"]), min_size=1, max_size=40)


def drawing(words: str) -> str:
    drawn = svg.drawing([svg.text(5, 20, words)], 100, 50, words, words, "a")
    return figures.fitted(drawn, 100, 50)


@given(WORDS)
def test_any_words_of_a_drawing_become_its_alternative_and_nothing_else(words):
    page = f"<div><p>before</p>{drawing(words)}{drawing('other')}<p>after</p></div>"
    lifted, drawings = plates.lifted(page)
    before, first, second, after = ElementTree.fromstring(lifted)
    assert (before.text, after.text) == ("before", "after")
    assert first.get("alt") == f"{words}. {words}"
    assert first.get("style") == "width:100.00mm;height:50.00mm"
    assert [first.get("src"), second.get("src")] == list(drawings)
    assert ElementTree.fromstring(drawings[first.get("src")]).tag.endswith("svg")


def test_small_signs_stay_within_their_line():
    sign = '<p><svg xmlns="http://www.w3.org/2000/svg" width="4mm" height="4mm"/> Done</p>'
    assert plates.lifted(sign) == (sign, {})

"""A drawing in fewer bytes says the same: each element has what it had, its own or inherited."""

from xml.etree import ElementTree

import pytest

from readiness.papers.drawings import svg
from readiness.papers.drawings.elevation import ItemMark, elevation_svg
from readiness.papers.drawings.lean import lean
from readiness.papers.drawings.plan import plan_svg
from readiness.papers.drawings.section import section_svg
from readiness.rules.band.geometry import Opening, WallRun
from readiness.rules.vocabulary import Readiness
from tests.rules.walls import VALUES, brick_wall

INHERITED = ("font-family", "font-size", "font-weight", "text-anchor", "fill", "stroke")
"""Those that a group hands on (from memory: SVG 2, property index)."""


def drawn(items=20, label="North wall"):
    runs = [WallRun(f"run-{n}", f"{label} {n}", 9_000, turn_degrees=90) for n in range(4)]
    marks = [ItemMark(n, 700 * n % 9_000, None, f"run-{n % 4}") for n in range(1, items + 1)]
    links = {run.id: f"#{run.id}" for run in runs}
    return plan_svg(runs, items=marks, links=links, status={"run-0": Readiness.NOT_READY})


def as_seen(node, handed_on):
    """Each element with its own and its inherited attributes; groups that only hand on left out."""
    own = {**handed_on, **{key: node.get(key) for key in INHERITED if node.get(key)}}
    rest = {key: value for key, value in node.attrib.items() if key not in INHERITED}
    if node.tag.endswith("}text"):
        own.setdefault("text-anchor", "start")
        yield node.tag, rest, own, node.text
    elif node.tag.endswith("}path"):
        ends = rest["d"].count("L")
        rest.pop("stroke-linejoin", None) if ends == 1 and "Z" not in rest["d"] else None
        yield node.tag, rest, own.get("fill"), node.text
    elif rest or not node.tag.endswith("}g"):
        yield node.tag, rest, None, node.text
    for child in node:
        yield from as_seen(child, own)


def seen(markup):
    return list(as_seen(ElementTree.fromstring(markup), {}))


@pytest.mark.parametrize("items", [0, 1, 2, 20, 120])
def test_what_is_seen_stays_as_it_was(items):
    before = drawn(items)
    after = lean(before)
    assert seen(after) == seen(before)
    assert len(after) < len(before)


def test_an_elevation_and_a_section_look_as_they_did():
    door = Opening(2000, 2900, "Door", -86, wall_below=False)
    run = brick_wall((0, -300), (6000, -180), openings=(door,), brick_bottom_mm=-430)
    for before in (elevation_svg(run, VALUES), section_svg(run, VALUES)):
        assert seen(lean(before)) == seen(before)
        assert len(lean(before)) < 0.95 * len(before)


def test_many_marks_take_half_the_bytes_of_their_words():
    assert len(lean(drawn(60))) < 0.65 * len(drawn(60))


def test_what_people_wrote_is_not_taken_for_markup():
    wrote = f'<text x="1" y="2"{svg.attributes({"font_family": svg.FONT})} text-anchor="start">'
    before = drawn(3, label=wrote)
    assert seen(lean(before)) == seen(before)

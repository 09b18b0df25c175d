"""Drawings of kinds and of the plan: well-formed, allowed by a strict policy, and complete."""

import re
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.papers.drawings.elevation import ItemMark
from readiness.papers.drawings.kinds import SYMBOLS, kind_svg
from readiness.papers.drawings.plan import plan_svg
from readiness.papers.drawings.plan_walls import crosses, overlap
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.perimeter import outline
from readiness.rules.defects.catalogue import KINDS
from tests.papers.drawn import SVG, alternative, read, words

HOUSE = (
    WallRun("n", "North wall", 12_000),
    WallRun("e", "East wall", 8000),
    WallRun("s", "South wall", 12_000),
    WallRun("w", "West wall", 8000),
)


@pytest.mark.parametrize("slug", KINDS)
def test_every_kind_has_a_drawing_of_brick_with_the_defect_in_it(slug):
    drawing = SYMBOLS / f"{KINDS[slug].drawing_key}.svg"
    assert drawing.exists(), "Draw it in readiness/papers/drawings/symbols/."
    root = read(kind_svg(slug))
    assert root.get("viewBox") == "0 0 48 48"
    assert root.get("aria-hidden") == "true"
    assert len(list(root.iter(f"{SVG}rect"))) > 1, "Draw the brick that it is in, too."
    assert len(list(root.iter())) > 5


@pytest.mark.parametrize("slug", KINDS)
def test_a_drawing_has_the_colour_of_the_text_and_that_of_the_paper_and_no_other(slug):
    for part in read(kind_svg(slug)).iter():
        colours = {part.get("fill"), part.get("stroke")} - {None, "none", "currentColor"}
        of_paper = {"#fff"} if part.get("class") == "drawing-paper" else set()
        assert colours == of_paper, "Black is currentColor; #fff is of the class drawing-paper."


def test_every_drawing_is_of_a_kind():
    drawn = {path.stem for path in SYMBOLS.iterdir()}
    left = drawn - {kind.drawing_key for kind in KINDS.values()}
    assert not left, f"A drawing without a kind: {', '.join(sorted(left))}."


def test_no_two_kinds_look_the_same():
    assert len({kind_svg(slug) for slug in KINDS}) == len(KINDS)


@pytest.mark.parametrize("path", sorted(SYMBOLS.iterdir()), ids=lambda path: path.stem)
def test_what_a_kinds_file_shows_is_what_pages_show(path):
    """The file opens by itself, and its first and last line are all that pages leave out."""
    alone, shown = read(path.read_text()), read(kind_svg(path.stem))
    assert alone.get("viewBox") == shown.get("viewBox")
    drawn = [(element.tag, element.attrib) for element in alone.iter()][1:]
    assert drawn == [(element.tag, element.attrib) for element in shown.iter()][1:]


def test_a_kind_without_a_drawing_is_an_error():
    with pytest.raises(KeyError):
        kind_svg("no_such_kind")


def test_a_plan_names_every_wall_with_its_length():
    svg = plan_svg(HOUSE)
    assert {"North wall", "South wall", "A · 12 m", "B · 8 m"} <= set(words(svg))
    assert alternative(svg)[1].startswith("4 walls round the house, 40 m in all. North wall, 12 m.")


def test_a_plan_tells_status_by_the_shape_of_the_line_and_in_words():
    svg = plan_svg(HOUSE, status={"n": "ready", "e": "not_ready", "s": "not_known"})
    assert {"Ready", "Not ready", "Not inspected yet"} <= set(words(svg))
    assert "East wall, 8 m, not ready." in alternative(svg)[1]
    assert 'stroke-dasharray="7 4"' in svg


def test_walls_of_a_plan_can_be_tapped_and_are_named_to_readers():
    svg = plan_svg(HOUSE, links={"n": "/walls/n?a=1&b=2"})
    root = read(svg)
    link, on_its_name = root.iter(f"{SVG}a")
    assert link.get("href") == on_its_name.get("href") == "/walls/n?a=1&b=2"
    assert link.get("aria-label") == link.findtext(f"{SVG}title") == "North wall, 12 m"
    assert link[0].get("stroke-width") == "44"
    assert on_its_name.get("tabindex") == "-1", "one stop for the keyboard"
    assert root.get("role") == "group", "an image would hide its links from readers"
    assert read(plan_svg(HOUSE)).get("role") == "img"


def test_items_of_a_plan_are_marked_and_said():
    marks = [ItemMark(1, 2400, 5100, "n"), ItemMark(2, None, None, "n"), ItemMark(9, 1, 2, "gone")]
    svg = plan_svg(HOUSE, items=marks)
    assert {"1", "2"} <= set(words(svg))
    assert "9" not in words(svg)
    assert "North wall, 12 m, items 1 and 2." in alternative(svg)[1]


def test_an_outline_that_does_not_close_is_drawn_with_its_gap():
    svg = plan_svg([*HOUSE[:3], replace(HOUSE[3], length_mm=5000)])
    assert 'stroke-dasharray="3 4"' in svg
    assert "does not close" in alternative(svg)[1]


def test_one_wall_and_no_wall_can_be_drawn():
    assert "North wall" in words(plan_svg(HOUSE[:1]))
    assert words(plan_svg([])) == ["No walls have been entered yet."]


def test_forty_walls_are_all_named():
    runs = []
    for side in range(4):
        for bay in range(5):
            turn = 90 if bay % 2 == 0 or bay == 4 else -90
            runs.append(WallRun(f"{side}{bay}a", f"Bay {side}{bay}", 3000, turn_degrees=turn))
            if bay < 4:
                back = -90 if bay % 2 == 0 else 90
                runs.append(WallRun(f"{side}{bay}b", f"Step {side}{bay}", 1200, turn_degrees=back))
    runs += [replace(runs[-1], id=f"x{n}", label=f"Extra {n}") for n in range(4)]
    assert len(runs) == 40
    said = " ".join(words(plan_svg(runs)))
    assert all(run.label in said for run in runs)


@st.composite
def perimeters(draw):
    """Random walks round corners; most cross themselves or stay open, as half-typed walls do."""
    count = draw(st.integers(1, 24))
    return [
        WallRun(
            f"w{n}",
            draw(st.sampled_from(["", "Front", "Porch, left side", "Garage side", "Mmmm WWWW Mm"])),
            draw(st.integers(100, 16_000)),
            turn_degrees=draw(st.sampled_from([90, 90, 90, -90, 0, 45, -45, 180])),
        )
        for n in range(count)
    ]


@st.composite
def houses(draw):
    """Closed rectilinear houses: a block with recesses and bays along its front and back."""
    sides, depth = [], draw(st.integers(6_000, 14_000))
    widths = []
    for _ in range(2):
        bays = draw(
            st.lists(
                st.tuples(st.integers(900, 5_000), st.integers(600, 2_400)), min_size=1, max_size=3
            )
        )
        side, out = [], draw(st.booleans())
        for n, (length, step) in enumerate(bays):
            last = n == len(bays) - 1
            side.append((length, 90 if last else (-90 if out else 90)))
            if not last:
                first_turn = -90 if out else 90
                side[-1] = (length, first_turn)
                side.append((step, -first_turn))
                side.append((draw(st.integers(1_500, 4_000)), -first_turn))
                side.append((step, first_turn))
        sides.append(side)
        widths.append(sum(length for length, turn in side[::2]))
    short = 0 if widths[0] < widths[1] else 1
    length, turn = sides[short][-1]
    sides[short][-1] = (length + abs(widths[0] - widths[1]), turn)
    walls = [*sides[0], (depth, 90), *sides[1], (depth, 90)]
    return [
        WallRun(f"w{n}", f"Wall number {n}" if n % 2 else "Porch", length, turn_degrees=turn)
        for n, (length, turn) in enumerate(walls)
    ]


def label_boxes(svg):
    return [
        tuple(map(float, part.get("data-box").split()))
        for part in read(svg).iter(f"{SVG}g")
        if part.get("class") == "plan-label"
    ]


def wall_lines(svg):
    for part in read(svg).iter(f"{SVG}path"):
        if (part.get("class") or "").startswith("plan-run"):
            x1, y1, x2, y2 = map(float, re.findall(r"[\d.]+", part.get("d")))
            yield (x1, y1), (x2, y2)


def assert_labels_keep_clear(svg):
    boxes = label_boxes(svg)
    for one, other in combinations(boxes, 2):
        shrunk = (one[0] + 0.1, one[1] + 0.1, one[2] - 0.1, one[3] - 0.1)  # rounding
        assert not overlap(shrunk, other), (one, other)
    width, height = map(float, read(svg).get("viewBox").split()[2:])
    for label in boxes:
        assert 0 <= label[0] < label[2] <= width
        assert 0 <= label[1] < label[3] <= height
        assert not any(crosses(label, *line) for line in wall_lines(svg))


@settings(max_examples=40, deadline=None)
@given(perimeters(), st.sampled_from([350, 600]))
def test_labels_of_any_walls_keep_clear_of_each_other_and_of_the_walls(runs, width):
    assert_labels_keep_clear(plan_svg(runs, width=width, most_height=300))


@settings(max_examples=40, deadline=None)
@given(houses(), st.sampled_from([350, 600]))
def test_every_wall_of_a_house_with_recesses_has_its_label(runs, width):
    assert outline(runs).closes
    svg = plan_svg(runs, width=width, most_height=300)
    assert_labels_keep_clear(svg)
    assert len(label_boxes(svg)) == len(runs)


def test_a_wall_without_room_for_its_name_has_a_letter_and_is_listed():
    porch = [
        WallRun("a", "Front, bedrooms", 5_000, turn_degrees=90),
        WallRun("b", "Porch, left side", 1_200, turn_degrees=-90),
        WallRun("c", "Porch, back", 3_000, turn_degrees=-90),
        WallRun("d", "Porch, right side", 1_200, turn_degrees=90),
        WallRun("e", "Front, garage", 6_000, turn_degrees=90),
        WallRun("f", "Garage side", 9_000, turn_degrees=90),
        WallRun("g", "Back", 14_000, turn_degrees=90),
        WallRun("h", "Tap side", 9_000, turn_degrees=90),
    ]
    said = words(plan_svg(porch, width=350))
    assert {"B", "Porch, left side, 1.2 m", "Back", "G · 14 m"} <= set(said)
    assert not any("…" in text for text in said), "nothing is cut"
    assert "Porch, left side, 1.2 m" not in words(plan_svg(porch, width=350, listing=()))
    assert "2" in words(plan_svg(porch, width=350, key_of=str))


def test_names_that_try_to_break_out_stay_names():
    nasty = '<script>alert(1)</script>"&'
    run = WallRun('"><x', nasty, 6000)
    assert nasty in " ".join(filter(None, read(plan_svg([run])).itertext()))

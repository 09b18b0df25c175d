"""Marks over a photo: what is taken as one, and where it is drawn."""

import math
import re

import pytest

from readiness.photos.markup import MarkupError, clean_point, clean_shapes, svg_overlay

WIDTH, HEIGHT = 1000, 500  # so a hundredth of the longer side is 10 px
ARROW = {"kind": "arrow", "from": [0.1, 0.2], "to": [0.5, 0.2]}


def numbers(text: str) -> list[float]:
    return [float(found) for found in re.findall(r"-?\d+\.?\d*", text)]


def paths(*shapes) -> list[str]:
    return re.findall(r' d="([^"]+)"', svg_overlay(list(shapes), WIDTH, HEIGHT))


def words(text: str, at: list[float]):
    """The attributes of the words, the dark casing first."""
    drawn = svg_overlay([{"kind": "text", "at": at, "text": text}], WIDTH, HEIGHT)
    return [
        dict(re.findall(r'([a-z-]+)="([^"]*)"', tag)) for tag in re.findall("<text[^>]+>", drawn)
    ]


def test_every_line_is_drawn_on_a_wider_dark_one():
    drawn = svg_overlay([ARROW], WIDTH, HEIGHT)
    assert re.findall(r'stroke="(#\w+)" stroke-width="([\d.]+)"', drawn) == [
        ("#17212b", "11.0"),
        ("#ffd400", "6.0"),
    ]
    assert len(set(paths(ARROW))) == 1


def test_an_arrow_has_two_wings_at_its_end():
    line, *wings = paths(ARROW)[0].split("M")[1:]
    assert numbers(line) == [100, 100, 500, 100]
    turn = math.pi / 7
    along, across = 40 * math.cos(turn), 40 * math.sin(turn)
    assert [numbers(wing) for wing in wings] == [
        pytest.approx([500, 100, -along, -across], abs=0.05),
        pytest.approx([500, 100, -along, across], abs=0.05),
    ]


def test_the_wings_of_a_short_arrow_are_half_as_long_as_it():
    short = {"kind": "arrow", "from": [0.5, 0.5], "to": [0.5, 0.54]}  # 20 px down
    _line, wing, _other = paths(short)[0].split("M")[1:]
    assert math.hypot(*numbers(wing)[2:]) == pytest.approx(10, abs=0.1)


def test_a_dimension_has_a_tick_across_each_end_and_its_words_over_the_middle():
    shape = {"kind": "dimension", "from": [0.2, 0.4], "to": [0.6, 0.8], "text": "38 mm"}
    drawn = svg_overlay([shape], WIDTH, HEIGHT)
    line, first, second = paths(shape)[0].split("M")[1:]
    assert numbers(line) == [200, 200, 600, 400]
    for tick, (x, y) in ((first, (200, 200)), (second, (600, 400))):
        x1, y1, x2, y2 = numbers(tick)
        assert ((x1 + x2) / 2, (y1 + y2) / 2) == pytest.approx((x, y), abs=0.1)
        assert math.hypot(x2 - x1, y2 - y1) == pytest.approx(30, abs=0.2)
        assert (x2 - x1) * 400 + (y2 - y1) * 200 == pytest.approx(0, abs=60), "square to the line"
    assert 'x="400.0" y="292.5"' in drawn
    assert drawn.count("38 mm") == 2


def test_a_dimension_without_words_is_its_line():
    shape = {"kind": "dimension", "from": [0.2, 0.4], "to": [0.6, 0.8], "text": ""}
    assert "<text" not in svg_overlay([shape], WIDTH, HEIGHT)


def test_a_circle_fills_its_box():
    (path, _) = paths({"kind": "circle", "box": [0.2, 0.2, 0.6, 0.8]})
    assert path == "M200.0 250.0a200.0 150.0 0 1 0 400.0 0a200.0 150.0 0 1 0 -400.0 0z"


@pytest.mark.parametrize(
    ("across", "side"),
    [(0.1, "start"), (0.329, "start"), (0.33, "middle"), (0.67, "middle"), (0.671, "end")],
)
def test_words_lean_away_from_the_edge(across, side):
    casing, ink = words("soil", [across, 0.5])
    assert casing["text-anchor"] == ink["text-anchor"] == side
    assert (float(ink["x"]), float(ink["y"])) == (pytest.approx(across * WIDTH), 250)
    assert (ink["font-size"], ink["font-weight"]) == ("36.0", "700")
    assert (casing["stroke-width"], "stroke-width" in ink) == ("9.0", False)


def test_words_at_the_top_are_not_cut_off():
    assert words("soil", [0.5, 0.01])[0]["y"] == "36.0"


def test_words_are_no_markup():
    drawn = svg_overlay([{"kind": "text", "at": [0.5, 0.5], "text": "<b>&"}], WIDTH, HEIGHT)
    assert drawn.count("&lt;b&gt;&amp;</text>") == 2


def test_a_blur_is_not_drawn():
    assert svg_overlay([{"kind": "blur", "box": [0.2, 0.2, 0.6, 0.8]}], WIDTH, HEIGHT) == ""


def test_a_tall_picture_is_drawn_as_thick_as_a_wide_one():
    assert 'stroke-width="6.0"' in svg_overlay([ARROW], HEIGHT, WIDTH)


def test_what_is_kept_is_in_the_picture_and_rounded():
    shape = {"kind": "arrow", "from": [-3, 0.123456789], "to": [7, 1], "colour": "red"}
    assert clean_shapes([shape]) == [{"kind": "arrow", "from": [0, 0.12346], "to": [1, 1]}]


def test_a_box_may_be_drawn_from_any_corner():
    shape = {"kind": "blur", "box": [0.6, 0.2, 0.4, 0.1]}
    assert clean_shapes([shape]) == [{"kind": "blur", "box": [0.4, 0.1, 0.6, 0.2]}]


def test_words_are_one_line_without_control_characters():
    shape = {"kind": "text", "at": [0, 0], "text": " soil\x00 to\n\n here "}
    assert clean_shapes([shape])[0]["text"] == "soil to here"


def test_as_many_and_as_long_as_allowed_are_kept():
    text = {"kind": "text", "at": [0, 0], "text": "x" * 80}
    assert len(clean_shapes([text] * 60)) == 60
    assert clean_shapes([{"kind": "blur", "box": [0, 0, 0.004, 0.004]}])


@pytest.mark.parametrize(
    "shapes",
    [
        "arrow",
        {"kind": "arrow"},
        ["arrow"],
        [{"kind": "star"}],
        [ARROW] * 61,
        [{"kind": "text", "at": [0, 0], "text": "x" * 81}],
        [{"kind": "text", "at": [0, 0], "text": "  "}],
        [{"kind": "text", "at": [0, 0], "text": 5}],
        [{"kind": "arrow", "from": [0.1, 0.1], "to": [0.1, 0.1]}],
        [{"kind": "dimension", "from": [0.1, 0.1], "to": [0.1, 0.1], "text": ""}],
        [{"kind": "dimension", "from": [0.1, 0.1], "to": [0.2, 0.1]}],
        [{"kind": "circle", "box": [0.1, 0.1, 0.103, 0.5]}],
        [{"kind": "circle", "box": [0.1, 0.1, 0.5, 0.103]}],
        [{"kind": "circle", "box": [0.1, 0.1, 0.5]}],
        [{"kind": "circle", "box": (0.1, 0.1, 0.5, 0.5)}],
    ],
    ids=repr,
)
def test_other_marks_are_refused(shapes):
    with pytest.raises(MarkupError):
        clean_shapes(shapes)


@pytest.mark.parametrize("part", [True, "0.5", None, float("nan"), float("inf"), [0.5]], ids=repr)
def test_a_place_is_two_numbers(part):
    for place in ([0.5, part], [part, 0.5], [0.5, 0.5, 0.5], [0.5], (0.5, 0.5), None):
        with pytest.raises(MarkupError):
            clean_point(place)
    assert clean_point([0, 1]) == [0.0, 1.0]

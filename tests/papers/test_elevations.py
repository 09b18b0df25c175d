"""Elevations and sections: what they show is where it is in the brick, and in words beside it."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.papers.drawings.brickwork import BRICKS_SHOWN_MAX
from readiness.papers.drawings.corner_marks import Neighbours, neighbours_of
from readiness.papers.drawings.elevation import ItemMark, elevation_svg
from readiness.papers.drawings.elevation_marks import spread
from readiness.papers.drawings.section import section_svg
from readiness.rules.band import believable
from readiness.rules.band.geometry import (
    UNITS,
    FinishToCome,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    Perpend,
    StruckStep,
    Unit,
    WallRun,
    WeepHoles,
)
from readiness.rules.band.levels import band_of, bands_of
from tests.papers.drawn import (
    SVG,
    alternative,
    overlapping,
    paths,
    read,
    span,
    subpaths,
    text_boxes,
    words,
)
from tests.rules.walls import VALUES, brick_wall, rendered_wall, weeps_at

NEAR = 0.06
"""Places are drawn to a tenth of a unit."""


def low_render():
    return rendered_wall(
        (0, -175), (2399, -175), (2400, -140), (5100, -140), (5101, -175), weep_holes=weeps_at(0)
    )


def sloping(**parts):
    """The wall of the rules' sample: it rises 20 mm a metre, with paving to come from 4 m on."""
    return brick_wall(
        (0, -170),
        (6000, -50),
        **{
            "bed_joint_mm": -86,
            "perpend": Perpend(0, 0),
            "finishes_to_come": (FinishToCome(4000, 6000, 60, "paving"),),
            **parts,
        },
    )


class Places:
    """Where levels and distances of a coursed wall lie on its elevation, measured on that.

    By its bed joints, which are a course apart, and the first stretch of its line.
    """

    def __init__(self, svg, run):
        band = band_of(run, VALUES)
        beds = sorted(y for ((_, y),) in _starts(paths(svg, "beds")))
        course = float(run.gauge_or_nominal(VALUES).course_mm)
        self.up = (beds[-1] - beds[0]) / (len(beds) - 1) / course
        self.first = paths(svg, "treatment-line")[0][0][1]
        self.level = float(band.segments[0].level_mm)
        outline = next(r for r in read(svg).iter(f"{SVG}rect") if r.get("fill") == "none")
        self.left = float(outline.get("x"))
        self.across = float(outline.get("width")) / run.length_mm

    def y(self, level_mm):
        return self.first + (self.level - float(level_mm)) * self.up

    def x(self, distance_mm):
        return self.left + float(distance_mm) * self.across


def _starts(lines):
    return [line[:1] for line in lines]


# The line, the bond and the scale


def test_where_nobody_can_reach_there_is_no_band_and_it_says_why():
    wall = brick_wall((0, -300), out_of_reach=((0, 2500),))
    svg = elevation_svg(wall, VALUES)
    said = dict(text_boxes(svg))["nobody can reach it"]
    left, *_ = span([point for part in paths(svg, "treated") for point in part])
    assert said[2] < left
    assert "Nobody can reach it from 0 m to 2.5 m: nothing is treated there." in alternative(svg)[1]
    narrow = replace(wall, out_of_reach=((0, 100),))
    assert "nobody can reach it" not in words(elevation_svg(narrow, VALUES))


def test_an_elevation_says_the_shortfall_in_millimetres_and_in_words():
    svg = elevation_svg(low_render(), VALUES)
    assert "35 mm short" in words(svg)
    title, description = alternative(svg)
    assert title == "East wall, seen from outside"
    assert "cut a new joint 35 mm higher" in description
    assert "clipPath" in svg, "the shortfall is hatched"
    assert "height missing" in words(svg)


def test_an_elevation_steps_where_the_line_does():
    svg = elevation_svg(sloping(), VALUES, width=616)  # 6000 mm on 600 units, 8 from the left
    (line,) = paths(svg, "treatment-line")
    # Worked by hand in the rules' sample: steps at 240 mm and at 3960 mm.
    assert [x for x, _ in line] == [8, 32, 32, 404, 404, 608]
    (bottom,) = paths(svg, "band-bottom")
    assert [x for x, _ in bottom] == [8, 32, 32, 428, 428, 608]
    assert {"level with slab", "86 mm above slab"} <= set(words(svg))


def perpends(svg, length):
    """From where to where each course's perpends go up, and where they are across."""
    for part in read(svg).iter(f"{SVG}path"):
        if part.get("class") == "perpends":
            x, y = (float(n) for n in re.match(r"M(-?[\d.]+) (-?[\d.]+)", part.get("d")).groups())
            thick, gap = map(float, part.get("stroke-dasharray").split())
            half = float(part.get("stroke-width")) / 2
            count = int((length - x) / (thick + gap)) + 1
            middles = [x + thick / 2 + n * (thick + gap) for n in range(count)]
            yield (y - half, y + half), middles


@pytest.mark.parametrize(
    ("unit", "apart"),
    [(UNITS[0], 24), (UNITS[-1], 40), (Unit(162, 230), 24), (Unit(76, 225), 23.5)],
)
def test_bond_is_drawn_to_scale_half_a_unit_along_in_every_second_course(unit, apart):
    run = brick_wall((0, -300), length_mm=2400, unit=unit, gauge=None)
    svg = elevation_svg(run, VALUES, width=256)  # 240 units for 2400 mm
    courses = [middles for _, middles in perpends(svg, 248)]
    assert len(courses) > 2
    for middles in courses:
        assert all(b - a == pytest.approx(apart, abs=0.01) for a, b in pairwise(middles))
    for one, other in pairwise(courses):
        shift = (other[0] - one[0]) % apart
        assert shift == pytest.approx(apart / 2, abs=0.02)


def test_perpends_lie_where_one_was_measured_in_the_course_that_it_was_measured_in():
    run = brick_wall((0, -300), perpend=Perpend(1, 100), bed_joint_mm=-172)
    svg = elevation_svg(run, VALUES, width=616)
    at = Places(svg, run)
    for (top, bottom), middles in perpends(svg, 608):
        course = round((-(top + bottom) / 2 + at.y(0)) / at.up + 172 - 43, 3) / 86
        if course == pytest.approx(round(course), abs=0.02):  # those cut at the edge are left out
            expected = 100 if round(course) % 2 else 220
            assert (middles[0] - 8) * 10 % 240 == pytest.approx(expected, abs=1)


def test_joints_are_drawn_as_thick_as_they_are_where_that_can_be_seen():
    run = brick_wall((0, -220), (600, -190), length_mm=600)
    thin = brick_wall((0, -300), length_mm=24_000)
    bed = {}
    for name, wall in {"pier": run, "long": thin}.items():
        svg = elevation_svg(wall, VALUES, width=616)
        (part,) = [p for p in read(svg).iter(f"{SVG}path") if p.get("class") == "beds"]
        bed[name] = float(part.get("stroke-width")) / Places(svg, wall).up
        first = next(p for p in read(svg).iter(f"{SVG}path") if p.get("class") == "perpends")
        bed[name, "perpend"] = float(first.get("stroke-dasharray").split()[0])
    assert bed["pier"] == pytest.approx(10, abs=0.3)
    assert bed["pier", "perpend"] == 10
    assert bed["long", "perpend"] == 0.6, "a hair's breadth is left to be seen"


@st.composite
def brick_walls(draw):
    """Any coursed wall with believable levels: units, perpends, openings, finishes, the foot."""
    length_mm = draw(st.integers(600, 24_000))
    unit = draw(st.sampled_from([None, *UNITS, Unit(76, 225)]))
    some = st.integers(0, length_mm)
    ground = sorted(draw(st.lists(some, max_size=5, unique=True)))
    points = [GroundPoint(at, draw(st.integers(-500, -60))) for at in [0, *ground]]
    if draw(st.booleans()):
        points.append(GroundPoint(points[-1].distance_mm, draw(st.integers(-500, -60))))
    points = [p for n, p in enumerate(points) if not (n == 1 and p.distance_mm == 0)]
    edges = sorted(draw(st.lists(some, max_size=4, unique=True)))
    openings = tuple(
        Opening(
            start, end, draw(st.sampled_from(["", "Door", "Sliding door to the alfresco"])),
            draw(st.none() | st.integers(-200, 60)), draw(st.sampled_from([None, True, False])),
        )
        for start, end in zip(edges[::2], edges[1::2], strict=False)
    )  # fmt: skip
    finish = draw(st.lists(some, min_size=2, max_size=2, unique=True).map(sorted))
    weep = draw(st.none() | st.integers(-200, 86))
    run = WallRun(
        "any", "Any wall", length_mm, unit=unit, slab_level_mm=draw(st.sampled_from([0, 0, -86])),
        gauge=draw(st.none() | st.just(Gauge(7, 7 * (unit or UNITS[0]).course_mm + 3))),
        bed_joint_mm=draw(st.integers(-400, 0)), ground_today=tuple(points),
        perpend=draw(st.none() | st.builds(Perpend, st.integers(-1, 2), some)),
        brick_bottom_mm=draw(st.none() | st.integers(-700, -300)), openings=openings,
        finishes_to_come=(FinishToCome(*finish, draw(st.integers(1, 120)), "paving"),),
        weep_holes=() if weep is None else (WeepHoles(weep, 960),),
    )  # fmt: skip
    return run if not believable.problems(run) else replace(run, openings=(), weep_holes=())


@settings(max_examples=60, deadline=None)
@given(brick_walls())
def test_drawn_steps_meet_drawn_perpends(run):
    """Line and bottom climb only where each course that they cross has a perpend."""
    band = band_of(run, VALUES)
    if not band.segments or run.length_mm / run.unit_or_usual(VALUES).pitch_mm > BRICKS_SHOWN_MAX:
        return
    width = run.length_mm / 4 + 16
    svg = elevation_svg(run, VALUES, width=width, height=600)
    courses = list(perpends(svg, width - 8))
    foot = Places(svg, run).y(run.brick_bottom_mm) if run.brick_bottom_mm is not None else 1e9
    openings = [8 + at / 4 for part in run.openings for at in (part.from_mm, part.to_mm)]
    for line in (*paths(svg, "treatment-line"), *paths(svg, "band-bottom")):
        for (x1, y1), (x2, y2) in pairwise(line):
            if x1 != x2 or any(abs(x1 - at) < 0.3 for at in openings):
                continue
            high, low = sorted((y1, y2))
            if low > foot - 0.5:  # where the brickwork ends the bottom is not on a joint
                continue
            for (top, bottom), middles in courses:
                if top < high - 0.5 or bottom > low + 0.5:
                    continue
                assert min(abs(x1 - at) for at in middles) < 0.3, (x1, middles)


def test_an_elevation_says_by_how_much_heights_are_drawn_larger():
    (note,) = [text for text in words(elevation_svg(low_render(), VALUES)) if "Heights" in text]
    assert re.fullmatch(r"Heights \d+ times larger than lengths\.", note)


def test_an_elevation_without_levels_is_still_a_wall():
    svg = elevation_svg(WallRun("x", "Side", 8000), VALUES)
    assert "No levels were entered." in alternative(svg)[1]
    assert not paths(svg, "treated")
    assert words(svg)[-1].startswith("Heights"), "no key of what is not drawn"


# The band: its bottom, the tint, the soil to clear


def test_the_bottom_of_the_band_is_a_line_of_its_own_and_the_band_is_tinted_down_to_it():
    run = brick_wall((0, -300), bed_joint_mm=-258)
    svg = elevation_svg(run, VALUES)
    at = Places(svg, run)
    (bottom,) = paths(svg, "band-bottom")
    (tinted,) = paths(svg, "treated")
    # First joint at least 75 mm over -300: -172. Two courses under it: -344, 44 mm in the soil.
    assert [y for _, y in bottom] == pytest.approx([at.y(-344)] * 2, abs=NEAR)
    assert span(tinted)[2:] == pytest.approx((at.y(-172), at.y(-344)), abs=NEAR)
    (dashed,) = [p for p in read(svg).iter(f"{SVG}path") if p.get("class") == "band-bottom"]
    (line,) = [p for p in read(svg).iter(f"{SVG}path") if p.get("class") == "treatment-line"]
    assert dashed.get("stroke-dasharray")
    assert float(dashed.get("stroke-width")) < float(line.get("stroke-width"))


def test_on_render_the_bottom_slopes_with_the_ground():
    svg = elevation_svg(rendered_wall((0, -260), (6000, -200)), VALUES)
    (bottom,) = paths(svg, "band-bottom")
    (x1, y1), (x2, y2) = bottom
    assert (x1, x2) == (8, 372)
    assert y1 > y2


def test_soil_to_clear_is_hatched_with_its_depth_and_not_as_a_shortfall_is():
    run = sloping()
    svg = elevation_svg(run, VALUES)
    band = band_of(run, VALUES)
    assert [part.deepest_mm for part in band.clear] == [93]
    assert "clear 93 mm" in words(svg)
    assert "soil to clear" in words(svg)
    assert "Clear soil 93 mm deep along 6 m" in alternative(svg)[1]
    assert _hatching(svg, "to-clear") == {"down"}
    short = elevation_svg(low_render(), VALUES)
    assert _hatching(short, "missing") == {"up"}
    assert not paths(short, "to-clear")


def _hatching(svg, class_):
    """Which way the strokes of a hatching go, from left to right."""
    found = set()
    for part in read(svg).iter(f"{SVG}path"):
        if part.get("class") == class_:
            for right, down in re.findall(r"l(-?[\d.]+) (-?[\d.]+)", part.get("d")):
                found.add("down" if float(right) * float(down) > 0 else "up")
    return found


def test_soil_is_hatched_between_todays_ground_and_the_bottom_where_that_is_lower():
    run = brick_wall((0, -430), (6000, -330), bed_joint_mm=-258)
    svg = elevation_svg(run, VALUES, width=616)
    at, band = Places(svg, run), band_of(run, VALUES)
    clip = next(read(svg).iter(f"{SVG}clipPath"))
    areas = subpaths(clip[0].get("d"))
    bottoms = [at.y(part.level_mm) for part in band.bottoms]
    for x, y in (point for area in areas for point in area):
        ground = at.y(-430 + (x - 8) / 600 * 100)
        assert min(abs(y - level) for level in (ground, *bottoms)) < 2 * NEAR
    hatched = sum(right - left for left, right, _, _ in map(span, areas))
    assert hatched == pytest.approx(
        sum(at.x(part.to_mm) - at.x(part.from_mm) for part in band.clear), abs=0.3
    )


def test_ground_that_was_not_measured_today_has_no_soil_to_clear():
    run = brick_wall(
        bed_joint_mm=-258, ground_finished=(GroundPoint(0, -300), GroundPoint(6000, -300))
    )
    svg = elevation_svg(run, VALUES)
    assert not paths(svg, "to-clear")
    assert not {"soil to clear", "ground today"} & set(words(svg))


def test_a_step_of_the_ground_is_drawn_upright():
    run = brick_wall((0, -300), (2400, -300), (2400, -220), (6000, -220))
    svg = elevation_svg(run, VALUES, width=616)
    ground = [
        points
        for part in read(svg).iter(f"{SVG}path")
        if part.get("stroke-width") == "2"
        for points in [re.findall(r"(-?[\d.]+) (-?[\d.]+)", part.get("d"))]
    ]
    (points,) = ground
    assert [float(x) for x, _ in points] == [8, 248, 248, 608]


# Openings, and where the brickwork ends


def test_an_opening_without_wall_has_no_brick_and_no_band():
    run = sloping(openings=(Opening(2000, 2900, "Back door", 0, False),))
    svg = elevation_svg(run, VALUES, width=616)
    assert {"Back door", "no wall"} <= set(words(svg))
    for class_ in ("treated", "treatment-line", "band-bottom"):
        for points in paths(svg, class_):
            left, right, _, _ = span(points)
            assert right <= 208 + NEAR or left >= 298 - NEAR, class_
    (threshold,) = paths(svg, "threshold")
    assert span(threshold)[2] == pytest.approx(Places(svg, run).y(0), abs=NEAR)
    assert "Back door from 2 m to 2.9 m: no wall below it." in alternative(svg)[1]
    assert "not known" not in words(svg)


def test_below_a_threshold_with_wall_the_band_goes_up_to_it():
    run = brick_wall((0, -300), openings=(Opening(2000, 2900, "Window", -200, True),))
    svg = elevation_svg(run, VALUES, width=616)
    at = Places(svg, run)
    # The line is at -172; under the window the wall ends at -200.
    (under,) = [p for p in paths(svg, "treated") if span(p)[0] == 208]
    assert span(under)[2] == pytest.approx(at.y(-200), abs=NEAR)
    assert not {"no wall", "?"} & set(words(svg))
    assert "up to 200 mm below the top of the slab" in alternative(svg)[1]


@pytest.mark.parametrize("threshold_mm", [None, -40])
def test_where_an_opening_is_not_known_a_question_mark_stands_and_nothing_is_tinted(threshold_mm):
    run = brick_wall((0, -300), openings=(Opening(2000, 3200, "Laundry", threshold_mm),))
    svg = elevation_svg(run, VALUES, width=616)
    assert words(svg).count("?") == 2, "one on the wall and one in the key"
    assert {"wall below?", "not known"} <= set(words(svg))
    for class_ in ("treated", "treatment-line", "band-bottom", "to-clear"):
        for points in paths(svg, class_):
            left, right, _, _ = span(points)
            assert right <= 208 + NEAR or left >= 328 - NEAR or class_ == "to-clear", class_
    assert "not known whether there is wall below it" in alternative(svg)[1]


def test_with_wall_below_but_no_threshold_it_is_asked_for():
    run = brick_wall((0, -300), openings=(Opening(2000, 3200, "", None, True),))
    svg = elevation_svg(run, VALUES, width=616)
    assert {"?", "threshold?"} <= set(words(svg))
    assert "Opening from 2 m to 3.2 m: wall below it, not known how far up." in alternative(svg)[1]


def test_no_brick_is_drawn_below_where_the_brickwork_starts():
    run = brick_wall((0, -420), (6000, -200), brick_bottom_mm=-258)
    svg = elevation_svg(run, VALUES)
    at = Places(svg, run)
    foot = at.y(-258)
    assert all(y <= foot + NEAR for line in paths(svg, "beds") for _, y in line)
    assert all(bottom <= foot + NEAR for (_, bottom), _ in perpends(svg, 372))
    assert all(span(p)[3] <= foot + NEAR for p in paths(svg, "treated"))
    assert {"brickwork starts", "slab or footing"} <= set(words(svg))
    assert "The brickwork starts 258 mm below the top of the slab." in alternative(svg)[1]


def test_where_nobody_saw_the_brickwork_start_nothing_is_claimed():
    svg = elevation_svg(brick_wall((0, -420), (6000, -200)), VALUES)
    assert not {"brickwork starts", "slab or footing"} & set(words(svg))
    assert "brickwork starts" not in alternative(svg)[1]


# Its slab, its neighbours


def test_on_a_slab_of_its_own_heights_are_from_that_slab():
    """As they are entered: heights of such a wall are from the top of its own slab."""
    run = brick_wall((0, -386), slab_level_mm=-86, bed_joint_mm=-258)
    svg = elevation_svg(run, VALUES)
    # The first joint at least 75 mm over -386 is -258, which is 172 under the slab at -86.
    assert {"172 mm below slab", "top of slab, 86 mm below main slab"} <= set(words(svg))
    assert "This wall's slab is 86 mm below the main slab." in alternative(svg)[1]


def house():
    """Anticlockwise: the garage on its stepped slab, then brick on the main one, then render."""
    walls = {
        "Garage": brick_wall((0, -386), slab_level_mm=-86, bed_joint_mm=-258),
        "Side": brick_wall((0, -300), length_mm=4000),
        "Back": rendered_wall((0, -200)),
        "Tap side": brick_wall((0, -300), length_mm=4000),
    }
    return [replace(run, id=name.lower(), label=name) for name, run in walls.items()]


def drawn_corners(run, runs):
    bands = bands_of(runs, VALUES)
    around = neighbours_of(run, runs, bands)
    return bands, around, elevation_svg(run, VALUES, bands[run.id], neighbours=around)


def test_the_next_run_starts_at_the_right_end_and_the_last_meets_the_first():
    runs = house()
    _, around, _ = drawn_corners(runs[0], runs)
    assert (around.left.wall, around.right.wall) == ("Tap side", "Side")
    _, around, _ = drawn_corners(runs[3], runs)
    assert (around.left.wall, around.right.wall) == ("Back", "Garage")
    opened = [*runs[:3], replace(runs[3], length_mm=9000)]
    _, around, _ = drawn_corners(opened[3], opened)
    assert around == Neighbours(left=around.left), "the outline does not close"
    assert neighbours_of(runs[0], runs[:1], {}) == Neighbours()


def test_past_its_ends_a_wall_shows_where_the_bands_round_the_corners_are():
    runs = house()
    bands, around, svg = drawn_corners(runs[1], runs)
    own = bands["side"]
    at = Places(svg, runs[1])
    # On the left the garage, whose right end is beside this wall's left one.
    assert around.left.top_mm == bands["garage"].segments[-1].level_mm == -258
    lines, bottoms = paths(svg, "next-line"), paths(svg, "next-bottom")
    heights = [span(line)[2] for line in lines]
    expected = [at.y(end.top_mm) for end in (around.left, around.right)]
    assert heights == pytest.approx(expected, abs=NEAR)
    assert [span(p)[2] for p in bottoms] == pytest.approx(
        [at.y(end.bottom_mm) for end in (around.left, around.right)], abs=NEAR
    )
    assert span(lines[0])[1] < at.left
    assert span(lines[1])[0] > at.x(4000)
    assert "band of the next wall" in words(svg)
    low = min(float(part.level_mm) for part in own.bottoms)
    overlap = int(min(-172, -258) - max(low, float(around.left.bottom_mm)))
    said = f"At the left end it overlaps the band of Garage by {overlap} mm."
    assert said in alternative(svg)[1]


def test_a_wall_by_itself_has_no_neighbours_and_no_entry_for_them():
    svg = elevation_svg(house()[1], VALUES)
    assert not paths(svg, "next-line")
    assert "band of the next wall" not in words(svg)


def test_a_neighbour_that_ends_with_a_door_shows_nothing_at_that_corner():
    runs = house()
    runs[0] = replace(runs[0], openings=(Opening(5000, 6000, "Door", -86, False),))
    _, around, _ = drawn_corners(runs[1], runs)
    assert around.left is None


# Words


CROWDED = {
    "door and paving": sloping(openings=(Opening(2000, 2900, "Back door", 0, False),)),
    "low render": low_render(),
    "brick ends": brick_wall((0, -420), (6000, -200), brick_bottom_mm=-258),
    "weep holes": brick_wall((0, -200), (6000, -160), weep_holes=weeps_at(-172, spacing_mm=1000)),
    "pier": brick_wall((0, -220), (600, -190), length_mm=600, weep_holes=weeps_at(0)),
    "long": brick_wall((0, -480), (6000, -330), (6000, -420), (24_000, -100), length_mm=24_000),
    "steep": brick_wall((0, -700), (2000, -650), (2400, -300), (6000, -180)),
    "not known": brick_wall(
        (0, -300), openings=(Opening(500, 1400, "Laundry door"), Opening(2600, 3200, "", -40))
    ),
    "steps in render": rendered_wall(
        (0, -220), (2400, -160), length_mm=2400, struck_steps=(StruckStep(1500, -60),)
    ),
}
"""Walls that have much to say in little room."""


@pytest.mark.parametrize(("width", "height"), [(380, 190), (640, 69), (640, 134), (640, 58)])
@pytest.mark.parametrize("run", CROWDED.values(), ids=list(CROWDED))
def test_no_words_of_an_elevation_lie_over_each_other(run, width, height):
    marks = [ItemMark(1, 0), ItemMark(2, run.length_mm // 3, run.length_mm // 2)]
    assert not overlapping(elevation_svg(run, VALUES, items=marks, width=width, height=height))


@settings(max_examples=60, deadline=None)
@given(brick_walls(), st.sampled_from([(380, 190), (640, 69)]))
def test_any_wall_can_be_drawn_stays_within_its_frame_and_can_be_read(run, size):
    run = replace(run, joints=(Joint(run.length_mm // 2, 10),))
    svg = elevation_svg(run, VALUES, width=size[0], height=size[1])
    width, height = map(float, read(svg).get("viewBox").split()[2:])
    for rect in read(svg).iter(f"{SVG}rect"):
        x, y, w, h = (float(rect.get(name)) for name in ("x", "y", "width", "height"))
        assert min(w, h) >= 0
        assert -1 <= x <= x + w <= width + 1
        assert -1 <= y <= y + h <= height + 1
    for said, (left, top, right, bottom) in text_boxes(svg):
        assert left >= 0, said
        assert right <= width, said
        assert top >= -1, said
        assert bottom <= height, said
    assert not overlapping(svg)


@settings(max_examples=60, deadline=None)
@given(brick_walls())
def test_any_section_can_be_drawn_and_read(run):
    svg = section_svg(run, VALUES)
    if svg is not None:
        assert not overlapping(svg)
        for part in read(svg).iter(f"{SVG}rect"):
            assert float(part.get("height")) >= 0


@pytest.mark.parametrize(
    "rows",
    [
        [WeepHoles(-86, 960), WeepHoles(-80, 960)],
        [WeepHoles(-86, 960, to_mm=4000), WeepHoles(-40, 960, from_mm=3000, to_mm=4500)],
        [WeepHoles(-86, 960, to_mm=300), WeepHoles(0, positions_mm=(700,), from_mm=600, to_mm=900)],
    ],
)
def test_rows_of_weep_holes_are_named_where_there_is_room(rows):
    svg = elevation_svg(brick_wall((0, -300), weep_holes=tuple(rows)), VALUES, width=640, height=58)
    said = [text for text in words(svg) if text in ("weep holes", "top of slab")]
    assert len(said) == 3
    assert not overlapping(svg)


def test_an_elevation_numbers_the_items_at_their_place():
    marks = [ItemMark(3, 2400, 5100), ItemMark(12, 700), ItemMark(5, None)]
    svg = elevation_svg(brick_wall((0, -300)), VALUES, items=marks)
    assert {"3", "12"} <= set(words(svg))
    assert "5" not in words(svg)
    assert "Item 12 is at 0.7 m." in alternative(svg)[1]


def test_items_at_the_ends_of_a_wall_stand_side_by_side():
    marks = [ItemMark(1, 0), ItemMark(2, 0), ItemMark(3, 6000), ItemMark(4, 5990, 6000)]
    svg = elevation_svg(brick_wall((0, -300)), VALUES, items=marks, width=640)
    at = {text: (box[0] + box[2]) / 2 for text, box in text_boxes(svg) if text in "1234"}
    assert at["2"] - at["1"] == at["3"] - at["4"] == 19
    assert all(9 <= middle <= 631 for middle in at.values())


@given(st.lists(st.floats(0, 640), max_size=60).map(sorted))
def test_discs_stay_in_order_and_share_the_room_they_have(places):
    spaced = spread(places, 19, 12, 628)
    apart = min(19, 616 / max(len(places) - 1, 1))
    assert all(12 - 1e-6 <= x <= 628 + 1e-6 for x in spaced)
    assert all(b - a >= apart - 1e-6 for a, b in pairwise(spaced))


def test_names_that_try_to_break_out_stay_names():
    nasty = '<script>alert(1)</script>"&'
    run = replace(
        brick_wall((0, -300), openings=(Opening(0, 3000, nasty, 0, False),)),
        label=nasty, id='"><x',
    )  # fmt: skip
    for svg in (elevation_svg(run, VALUES), section_svg(run, VALUES)):
        assert nasty in " ".join(filter(None, read(svg).itertext()))


def test_the_same_wall_gives_the_same_drawing():
    run = low_render()
    assert elevation_svg(run, VALUES) == elevation_svg(run, VALUES, band_of(run, VALUES))


# Sections


def test_a_section_shows_what_was_found_and_what_is_needed():
    svg = section_svg(low_render(), VALUES)
    assert {"40 mm", "75 mm needed", "struck joint", "weep hole"} <= set(words(svg))
    title, description = alternative(svg)
    assert title.startswith("East wall, cut through the wall at")
    assert "40 mm above finished ground" in description


def test_a_section_tells_the_finish_to_come_from_todays_ground():
    run = brick_wall((0, -300), finishes_to_come=(FinishToCome(1000, 3000, 50, "paving"),))
    svg = section_svg(run, VALUES)
    assert "finish to come" in words(svg)
    assert "50 mm of finish is still to come" in alternative(svg)[1]


def test_a_section_has_the_band_and_the_trench_to_be_cleared_first():
    run = brick_wall((0, -300), bed_joint_mm=-258)
    svg = section_svg(run, VALUES, width=596)  # 580 units for the 590 mm that are drawn
    assert "clear 44 mm" in words(svg)
    (band,) = [r for r in read(svg).iter(f"{SVG}rect") if r.get("class") == "treated"]
    # From the joint at -172 two courses down to -344.
    assert float(band.get("height")) == pytest.approx(172 * 580 / 590, abs=NEAR)
    said = alternative(svg)[1]
    assert "The treated band is 172 mm high here." in said
    assert "Soil 44 mm deep has to be cleared first." in said


def test_a_section_has_no_brick_below_where_it_starts():
    run = brick_wall((0, -420), (6000, -200), brick_bottom_mm=-258)
    with_foot, without = section_svg(run, VALUES), section_svg(
        replace(run, brick_bottom_mm=None), VALUES
    )  # fmt: skip
    assert with_foot.count('fill="#dcdcdc"') == without.count('fill="#dcdcdc"') + 1


def test_there_is_no_section_without_a_line():
    assert section_svg(WallRun("x", "Side", 8000), VALUES) is None
    assert section_svg(rendered_wall((0, -200), struck_joint_mm=None), VALUES) is None

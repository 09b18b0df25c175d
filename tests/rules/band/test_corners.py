"""Bands of neighbouring walls, worked by hand: left end of each to right end of the next."""

from tests.rules.band.sites import answers, block_wall, codes, opening, rendered, site, steps, wall

LOW = {"label": "A"}
HIGH = {"label": "B"}


def low(**parts):
    """Ground -170: joint 0 (-86) down to joint -2 (-258)."""
    return wall((0, -170), **(LOW | parts))


def high(**parts):
    """Ground -40 (35 needed): joint 2 (86) down to joint 0 (-86)."""
    return wall((0, -40), **(HIGH | parts))


def test_the_higher_band_goes_down_for_a_unit_from_the_corner():
    """They only meet, at -86. One course under that is joint -1 (-172), for 240 mm: from
    5760, and back to the perpend of the course above joint -1 at 5640 (120 + 23 x 240).
    """
    found = answers(site(low(), high()))
    assert found["corners"] == [
        {
            "walls": ["A", "B"], "overlap_mm": 0, "needed_mm": 86, "lowered": "B",
            "to_level_mm": "-172",
        }
    ]  # fmt: skip
    assert steps(found["walls"][1]["bottom"]) == [(0, 5640, 0), (5640, 6000, -1)]
    assert steps(found["walls"][0]["bottom"]) == [(0, 6000, -2)]
    # 5.64 m x 2 courses and 0.36 m x 3: 12.36 / 20
    assert found["walls"][1]["litres"] == "0.618"


def test_the_other_way_round_it_is_the_left_end():
    """240 mm, and on to the perpend at 360."""
    found = answers(site(high(label="A"), low(label="B")))
    assert found["corners"][0]["lowered"] == "A"
    assert steps(found["walls"][0]["bottom"]) == [(0, 360, -1), (360, 6000, 0)]


def test_a_unit_reaches_as_far_as_its_joint():
    """6000 - 240 = 5760. The course above joint -1 has a perpend at 5765 (5 + 24 x 240), which is
    not a whole unit and joint from the corner; the one before it is at 5525.
    """
    found = answers(site(low(), high(perpend={"above_bed_joint": -1, "at_mm": 5})))
    assert steps(found["walls"][1]["bottom"]) == [(0, 5525, 0), (5525, 6000, -1)]


def test_the_last_wall_meets_the_first_where_they_close():
    walls = [low(), wall((0, -170), label="M"), high()]
    assert len(answers(site(*walls))["corners"]) == 2
    found = answers(site(*walls, closed=True))
    assert [corner["walls"] for corner in found["corners"]] == [["A", "M"], ["M", "B"], ["B", "A"]]
    assert [corner["lowered"] for corner in found["corners"]] == [None, "B", "B"]
    assert steps(found["walls"][2]["bottom"]) == [(0, 360, -1), (360, 5640, 0), (5640, 6000, -1)]


def test_seen_from_above_the_walls_go_clockwise():
    """The low north wall, then the high east wall. Who stands north of the house and looks at it
    has its north-east corner on the left, who stands east of it has it on the right.
    """
    found = answers(site(low(label="north"), high(label="east")))
    assert found["corners"][0]["walls"] == ["north", "east"]
    assert steps(found["walls"][1]["bottom"])[-1][-1] == -1


def test_another_datum_moves_a_band():
    """A garage slab stepped down by 86: B's band lies from -172 to 0 as A has it. 86 overlap."""
    found = answers(site(low(), high(datum_offset_mm=-86)))
    assert found["corners"][0] == {
        "walls": ["A", "B"], "overlap_mm": 86, "needed_mm": 86, "lowered": None,
        "to_level_mm": None,
    }  # fmt: skip


def test_a_datum_that_is_no_whole_course_away():
    """B's band from -126 to 46: 40 overlap. A course under -86 is -172, in B's levels -132: joint
    -1 (-172) is the highest at or below.
    """
    found = answers(site(low(), high(datum_offset_mm=-40)))
    assert (found["corners"][0]["overlap_mm"], found["corners"][0]["to_level_mm"]) == (40, "-132")
    assert steps(found["walls"][1]["bottom"]) == [(0, 5640, 0), (5640, 6000, -1)]


def test_render_beside_brick_overlaps_by_75():
    """Render from 30 to -50, brick from -86 down: 36 apart. 75 under -86 is -161, for 240 mm."""
    found = answers(site(low(), rendered((0, -50), struck=((0, 6000, 30),), label="B")))
    assert (found["corners"][0]["overlap_mm"], found["corners"][0]["needed_mm"]) == (-36, 75)
    assert [(p["to_mm"], p["level_mm"]) for p in found["walls"][1]["bottom"]] == [
        (5760, "-50"), (6000, "-161")
    ]  # fmt: skip
    assert found["walls"][1]["clear"][0] == {
        "from_mm": 5760, "to_mm": 6000, "deepest_mm": 111, "at_mm": 5760, "litres_of_soil": 4
    }  # fmt: skip


def test_block_goes_down_by_a_course_of_its_own():
    """Block from 100 to -100, brick from -86 down: 14 overlap. 200 under -86 is -286: joint -1
    (-300), for 400 mm: from 5600, and back to the perpend at 5400 (200 + 13 x 400).
    """
    found = answers(site(low(), block_wall((0, -80), label="B")))
    assert (found["corners"][0]["overlap_mm"], found["corners"][0]["needed_mm"]) == (14, 200)
    assert steps(found["walls"][1]["bottom"]) == [(0, 5400, 0), (5400, 6000, -1)]


def test_where_the_brick_ends_first_somebody_decides():
    found = answers(site(low(), high(brick_bottom_mm=-100)))
    assert found["walls"][1]["verdict"] == "decide"
    assert found["walls"][1]["why"] == [
        {"code": "brick_ends", "from_mm": 5640, "to_mm": 6000, "level_mm": -100}
    ]


def test_nothing_is_said_of_a_corner_that_is_not_known():
    for other in (high(bed_joint=None), high(openings=opening(5100, 6000, None, False))):
        corner = answers(site(low(), other))["corners"][0]
        assert (corner["overlap_mm"], corner["lowered"]) == (None, None)


def test_a_corner_decides_nothing_by_itself():
    found = answers(site(low(), high()))
    assert [codes(part) for part in found["walls"]] == [[], []]

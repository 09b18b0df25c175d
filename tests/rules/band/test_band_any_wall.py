"""Whatever the reader lets through gets an answer, and the answer fits together."""

import json
from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from tests.rules.band.sites import BLOCK, BRICK, answers, site, wall

LEVELS = st.integers(-300, 100)
VERDICTS = {"not known", "decide", "short", "right"}


@st.composite
def spans(draw, length, most=3):
    """Stretches that do not overlap, from left to right; they may touch."""
    cuts = sorted(draw(st.sets(st.integers(0, length), max_size=2 * most)))
    pairs = list(zip(cuts[::2], cuts[1::2], strict=False))
    if draw(st.booleans()):
        pairs = list(pairwise(cuts))
    return [{"from_mm": start, "to_mm": end} for start, end in pairs]


@st.composite
def any_wall(draw, label="A"):
    length = draw(st.integers(1, 3000))
    spread = [part | {"level_mm": draw(LEVELS)} for part in draw(spans(length))]
    struck = draw(st.sampled_from([spread, [{"from_mm": 0, "to_mm": length, "level_mm": -90}]]))
    at = sorted(draw(st.lists(st.integers(0, length), max_size=5)))
    at = [x for n, x in enumerate(at) if n < 2 or at[n - 2] != x]
    bottom = draw(st.one_of(st.none(), st.integers(-400, -100)))
    lowest = -300 if bottom is None else bottom
    return wall(
        label=label, length_mm=length,
        finish=draw(st.sampled_from(["face_brick", "render", "render", "block"])),
        unit=draw(st.sampled_from([BRICK, BLOCK, BRICK | {"length_mm": 225}])),
        gauge=draw(st.sampled_from([None, {"height_mm": 600, "courses": 7}])),
        bed_joint=draw(st.sampled_from([{"level_mm": -86}, {"level_mm": -51}, None])),
        brick_bottom_mm=bottom,
        perpend=draw(st.sampled_from([None, {"above_bed_joint": 1, "at_mm": 77}])),
        struck_joint=struck, ground_today=[[x, draw(LEVELS)] for x in at],
        ground_finished=draw(st.sampled_from([None, None, [[0, -150]]])),
        to_come=[
            part | {"thickness_mm": draw(st.integers(0, 150)), "what": draw(st.sampled_from("xy"))}
            for part in (*draw(spans(length)), *draw(spans(length)))
        ],
        openings=[
            part | {
                "threshold_mm": draw(st.one_of(st.none(), st.integers(lowest, 100))),
                "wall_below": draw(st.sampled_from([True, False, None])),
            }
            for part in draw(spans(length))
        ],
        weep_holes=[part | {"level_mm": draw(st.integers(-300, 200))}
                    for part in draw(spans(length, 1))],
        datum_offset_mm=draw(st.integers(-200, 200)),
    )  # fmt: skip


@st.composite
def any_site(draw):
    count = draw(st.integers(1, 3))
    return site(
        *(draw(any_wall("ABC"[n])) for n in range(count)),
        closed=count == 3,
        tape_mm=draw(st.sampled_from([0, 3])),
        prefer=draw(st.sampled_from(["lowest", "fewest steps"])),
        shortest_stretch_mm=draw(st.sampled_from([0, 240, 900])),
        below_ground_mm=draw(st.sampled_from([0, 40])),
    )


def is_whole(stretches, length):
    """From end to end without a hole."""
    edges = [part["from_mm"] for part in stretches] + [stretches[-1]["to_mm"]]
    ends = [part["to_mm"] for part in stretches]
    return edges[0] == 0 and edges[-1] == length and edges[1:] == ends


@given(any_site())
def test_every_wall_gets_an_answer_that_fits_together(stored):
    found = answers(stored)
    assert json.loads(json.dumps(found)) == found
    for given_wall, told in zip(stored["walls"], found["walls"], strict=True):
        length = given_wall["length_mm"]
        assert told["verdict"] in VERDICTS
        if told["line"] and given_wall["finish"] != "render":
            assert is_whole(told["line"], length)
            assert is_whole(told["bottom"], length)
        for key in ("short", "clear", "bare"):
            for part in told[key] or []:
                assert 0 <= part["from_mm"] <= part["to_mm"] <= length
        if told["treated_length_mm"] is not None:
            walled = length - sum(
                o["to_mm"] - o["from_mm"]
                for o in given_wall["openings"]
                if o["wall_below"] is False
            )
            assert 0 <= told["treated_length_mm"] <= walled
        for part in told["clear"] or []:
            assert part["deepest_mm"] > 0
        for part in told["short"] or []:
            assert part["by_mm"] > 0
        assert (told["verdict"] == "short") <= bool(told["short"])
        assert bool(told["short"]) <= (told["verdict"] != "right")


@given(any_site())
def test_neighbours_overlap_once_one_of_them_went_down(stored):
    """Held against the levels that are printed; where the brick ends nothing can be done."""
    found = answers(stored)
    offsets = {part["label"]: part["datum_offset_mm"] for part in stored["walls"]}
    walls = {part["label"]: part for part in found["walls"]}
    for corner in found["corners"]:
        pair = [walls[label] for label in corner["walls"]]
        ends = [reason for part in pair for reason in part["why"] if reason["code"] == "brick_ends"]
        if corner["overlap_mm"] is None or ends:
            continue
        tops, bottoms = (
            [
                offsets[part["label"]] + at_end(part[key], right)
                for part, right in zip(pair, (False, True), strict=True)
            ]
            for key in ("line", "bottom")
        )
        # A band that went down reaches far enough, also where its neighbour's is lower than that.
        own = dict(zip(corner["walls"], bottoms, strict=True)).get(corner["lowered"], max(bottoms))
        assert min(tops) - own >= corner["needed_mm"] - 1  # rounded up where printed


def at_end(stretches, right):
    last = stretches[-1 if right else 0]
    return Fraction(last.get("to_level_mm", last["level_mm"]) if right else last["level_mm"])

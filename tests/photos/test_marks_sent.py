"""Marks as they are sent and kept: each version keeps its reading, and none says too much."""

import pytest

from readiness.photos import marks_sent
from readiness.photos.measuring import CannotMeasure

from .simulated import marks_data

PLACES = [[0.2, 0.2], [0.6, 0.2], [0.6, 0.6], [0.2, 0.6], [0.3, 0.3], [0.3, 0.5]]
FIRST = {
    "corners": PLACES[:4],
    "start": PLACES[4],
    "end": PLACES[5],
    "mark_error": 0.002,
    "reference": {"kind": "brick"},
}
"""As version 0.2 kept them."""


def test_marks_of_the_first_version_keep_their_reading():
    marks = marks_sent.marks_from(FIRST, 4000, 3000)
    assert marks.corners[1] == (2400, 600)
    assert (marks.direction, set(marks.mark_error_px)) == ("straight", {8.0})


def test_nothing_new_is_measured_with_marks_of_an_earlier_page():
    with pytest.raises(CannotMeasure, match="Load it again"):
        marks_sent.require_current(FIRST)


def test_each_mark_has_the_error_of_how_it_was_set():
    data = marks_data(PLACES)
    data["set"] = [*data["set"][:5], {"shown_px": 800, "zoom": 4, "loupe": True}]
    errors = marks_sent.marks_from(data, 16_000, 12_000).mark_error_px
    tap = 1.5 * 16_000 / 358
    # Of the 1600 px size nobody sees more than a pixel: 10 of these.
    assert errors == pytest.approx([*[tap] * 5, 10.0])


def test_a_distance_without_a_direction_has_none():
    assert marks_sent.marks_from(marks_data(PLACES, direction=""), 400, 300).direction == ""


@pytest.mark.parametrize(
    "how",
    [
        None,
        [],
        [{"shown_px": 358, "zoom": 1, "loupe": True}] * 5,
        [{"shown_px": 358, "zoom": 1}] * 6,
        [{"shown_px": 358, "zoom": 13, "loupe": True}] * 6,
        [{"shown_px": 358, "zoom": 0.5, "loupe": True}] * 6,
        [{"shown_px": 1e9, "zoom": 1, "loupe": True}] * 6,
        [{"shown_px": 0, "zoom": 1, "loupe": True}] * 6,
        [{"shown_px": True, "zoom": 1, "loupe": True}] * 6,
        ["zoomed"] * 6,
    ],
)
def test_how_marks_were_set_is_believed_only_as_far_as_a_screen_can_be(how):
    with pytest.raises(CannotMeasure, match="earlier version"):
        marks_sent.marks_from(marks_data(PLACES) | {"set": how}, 400, 300)

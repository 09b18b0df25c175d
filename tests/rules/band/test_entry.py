"""Lengths as people type them, and levels from however they were measured."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band import entry
from readiness.wording.refusals.lengths import length
from tests.rules.walls import VALUES, brick_wall


@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [
        ("2400", 2400), ("2400 mm", 2400), ("2.4 m", 2400), ("2,4m", 2400), (" 240 cm ", 2400),
        ("-150", -150), ("−150", -150), ("0", 0), ("0.255 M", 255),
    ],
)  # fmt: skip
def test_a_length_is_read_with_or_without_its_unit(typed, length_mm):
    assert entry.parse_length_mm(typed) == length_mm


def test_metres_can_be_what_a_bare_number_means():
    assert entry.parse_length_mm("2.4", default_unit="m") == 2400


@pytest.mark.parametrize("typed", ["", "about 2 m", "2 m 40", "two", "1e3", "2..4"])
def test_what_is_no_length_is_refused_with_a_hint(typed):
    with pytest.raises(entry.EntryError) as refused:
        entry.parse_length_mm(typed)
    assert length(refused.value).endswith("is not a length. Write 2400 or 2.4 m.")


def test_a_bare_2_point_4_is_not_taken_for_2_mm():
    with pytest.raises(entry.EntryError) as refused:
        entry.parse_length_mm("2.4")
    assert "For metres, write “2.4 m”" in length(refused.value)


def test_levels_from_the_slab_from_a_bed_joint_and_from_the_ground_agree():
    # a bed joint is 172 mm under the slab; the place is 100 mm under that; ground 300 mm down
    run = brick_wall((0, -300))
    assert entry.level_mm(run, 272, entry.FROM_SLAB, VALUES) == -272
    assert entry.level_mm(run, 100, entry.FROM_BED_JOINT, VALUES) == -272
    assert entry.level_mm(run, 28, entry.FROM_GROUND, VALUES) == -272


def test_a_level_from_sloping_ground_is_taken_at_the_left_end():
    run = brick_wall((0, -300), (6000, -150))
    assert entry.level_mm(run, 50, entry.FROM_GROUND, VALUES) == -250


def test_what_is_measured_from_must_be_known():
    with pytest.raises(entry.EntryError) as refused:
        entry.level_mm(brick_wall(bed_joint_mm=None), 1, entry.FROM_BED_JOINT, VALUES)
    assert "a bed joint is" in length(refused.value)
    with pytest.raises(entry.EntryError) as refused:
        entry.level_mm(brick_wall(), 1, entry.FROM_GROUND, VALUES)
    assert "today's ground" in length(refused.value)


@given(st.integers(-10_000, 10_000))
def test_a_length_in_mm_reads_back(length_mm):
    assert entry.parse_length_mm(f"{length_mm} mm") == length_mm
    assert entry.parse_length_mm(f"{length_mm / 1000} m") == length_mm

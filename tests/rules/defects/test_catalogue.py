"""The catalogue of defects: complete entries, and required fixes with the numbers filled in."""

import re

import pytest

from readiness.rules.defects.catalogue import (
    GROUPS,
    KINDS,
    OFTEN,
    STATES,
    TRADES,
    check_measurement,
    get_kind,
    place,
)
from readiness.rules.values.rule_values import RULE_VALUES, RuleValues
from readiness.rules.vocabulary import KindGroup
from readiness.wording.measurements import measurement

VALUES = RuleValues.defaults()
LONGEST_NAME = 30

EXPECTED = {
    "unfilled_joint", "gap_too_wide", "articulation_unsealed", "tight_crack", "soil_against_brick",
    "ground_too_high", "render_line_low", "no_struck_joint", "weep_hole_blocked", "weep_hole_low",
    "mortar_drop", "dirty_brick", "wet_brick", "tap_splashes", "timber_against_wall",
    "attachment_too_close", "access_blocked", "other",
    # Found on real sites as well: common practice (no source)
    "slab_against_wall", "pipe_not_sealed", "gap_at_frame", "slab_edge_hidden",
    "slab_edge_honeycombed", "brick_overhang", "cavity_mortar", "pad_against_wall",
    "retaining_wall", "water_on_wall", "acid_wash", "coated_brick", "render_below_ground",
    "broken_brick", "work_to_come",
}  # fmt: skip


def test_the_catalogue_has_the_kinds_that_applicators_meet():
    assert set(KINDS) >= EXPECTED


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.slug)
def test_every_kind_is_whole(kind):
    assert kind.name
    assert len(kind.name) <= LONGEST_NAME, "the name must fit a big button"
    assert kind.look_for
    assert kind.fix or kind.slug == "other"
    assert kind.trade in TRADES
    assert kind.measurement or not kind.measurement_required
    if kind.measurement and kind.measurement.rule_key:
        key = kind.measurement.rule_key
        assert key in RULE_VALUES, f"There is no rule value {key}."


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.slug)
@pytest.mark.parametrize("measured", [None, 0, 20, 500])
def test_every_required_fix_reads_as_a_sentence_with_nothing_left_blank(kind, measured):
    if kind.slug == "other":
        return
    text = kind.required_fix(VALUES, measured=measured, from_mm=2400, to_mm=5100)
    assert text[0].isupper()
    assert text.endswith(".")
    assert "{" not in text
    assert "  " not in text
    anywhere = kind.required_fix(VALUES, measured=measured)
    assert not any(f" {mark}" in anywhere for mark in ",.:;"), "no gap where a place would stand"


def test_each_kind_has_one_name_and_one_place_in_the_list():
    names = [kind.name.lower() for kind in KINDS.values()]
    assert len(set(names)) == len(names)
    placed = [kind.slug for kinds in GROUPS.values() for kind in kinds]
    assert placed == list(KINDS)
    assert set(GROUPS) == set(KindGroup)
    assert [kind.slug for kind in GROUPS[KindGroup.OTHER]] == ["other"], "it stays last"


def test_what_is_found_most_often_comes_first_once_and_is_few():
    assert set(OFTEN) < set(KINDS)
    assert len(set(OFTEN)) == len(OFTEN) <= 10


def test_words_of_a_kind_speak_of_others_by_their_names():
    spoken = re.findall(r"“([^”]+)”", " ".join(kind.look_for for kind in KINDS.values()))
    assert spoken
    assert set(spoken) <= {kind.name for kind in KINDS.values()}


def test_brick_stands_at_most_15_mm_past_the_slab():
    # ABCB Housing Provisions 2022, 5.7.2 (seen)
    kind = get_kind("brick_overhang")
    assert check_measurement(kind, 15, VALUES).ok
    assert not check_measurement(kind, 16, VALUES).ok
    assert "1 mm over the limit of 15 mm" in kind.required_fix(VALUES, measured=16)


def test_a_fix_may_name_any_rule_value():
    values = VALUES.with_overrides({"attachment_gap_mm": 40, "crack_sealant_alone_max_mm": 3})
    assert "at least 40 mm is left to" in get_kind("slab_against_wall").required_fix(values)
    assert "more than 3 mm wide" in get_kind("tight_crack").required_fix(values)
    assert "backing rod" in get_kind("tight_crack").required_fix(values, measured=4)


def test_a_render_line_40_mm_up_is_to_be_raised_by_35():
    # 75 mm above finished ground: public guidance on AS 3660.1
    text = get_kind("render_line_low").required_fix(VALUES, measured=40, from_mm=2400, to_mm=5100)
    assert text == (
        "The joint cut in the render (struck joint) is 40 mm above finished ground. Cut a new one "
        "35 mm higher from 2.4 m to 5.1 m and make good the old one, or lower the ground by 35 mm, "
        "so that there is at least 75 mm."
    )


def test_a_required_fix_follows_the_business_own_values():
    values = VALUES.with_overrides({"line_above_ground_mm": 100})
    text = get_kind("render_line_low").required_fix(values, measured=40)
    assert "Cut a new one 60 mm higher" in text
    assert "at least 100 mm" in text


def test_a_measurement_is_held_against_its_rule_with_the_source():
    check = check_measurement(get_kind("attachment_too_close"), 10, VALUES)
    # AS 3660.2:2017, after AS 3660.1: a clear gap of at least 25 mm
    assert (check.ok, check.needed, check.difference) == (False, 25, 15)
    assert measurement(check) == "Clear gap to the wall: 10 mm, 15 mm less than the 25 mm needed."
    assert "AS 3660.2:2017" in check.source


def test_a_measurement_that_just_meets_its_rule_passes():
    assert check_measurement(get_kind("attachment_too_close"), 25, VALUES).ok
    assert check_measurement(get_kind("gap_too_wide"), 25, VALUES).ok
    assert not check_measurement(get_kind("gap_too_wide"), 26, VALUES).ok


def test_an_unbelievable_measurement_says_what_would_be_believable():
    check = check_measurement(get_kind("render_line_low"), 7500, VALUES)
    assert not check.believable
    assert measurement(check).endswith("7500 mm can't be right. It can be from 0 mm to 2000 mm.")


def test_nothing_measured_is_nothing_to_check():
    assert check_measurement(get_kind("render_line_low"), None, VALUES) is None
    assert check_measurement(get_kind("dirty_brick"), 5, VALUES) is None


def test_a_fix_is_due_no_later_than_the_business_asks():
    kind = get_kind("access_blocked")
    assert kind.days_before(VALUES) == 2
    assert kind.days_before(VALUES.with_overrides({"due_working_days": 5})) == 5
    assert get_kind("render_line_low").days_before(VALUES) == 4


DUE = {
    1: {"tap_splashes", "access_blocked"},
    2: {
        "tight_crack", "soil_against_brick", "work_to_come", "weep_hole_blocked", "mortar_drop",
        "dirty_brick", "wet_brick", "timber_against_wall",
    },
    3: {
        "unfilled_joint", "articulation_unsealed", "gap_too_wide", "pipe_not_sealed",
        "gap_at_frame", "water_on_wall", "other",
    },
    4: {
        "broken_brick", "ground_too_high", "weep_hole_low", "cavity_mortar", "render_line_low",
        "no_struck_joint", "render_below_ground", "acid_wash", "coated_brick",
        "attachment_too_close", "pad_against_wall", "slab_edge_hidden",
    },
    5: {"slab_against_wall", "retaining_wall", "slab_edge_honeycombed", "brick_overhang"},
}  # fmt: skip
"""Working days before the treatment that a fix is due: minutes of cleaning, or a wall to move."""


@pytest.mark.parametrize(
    ("slug", "days"), [(slug, days) for days, slugs in DUE.items() for slug in sorted(slugs)]
)
def test_the_longer_a_fix_takes_to_arrange_the_earlier_it_is_due(slug, days):
    hurried = VALUES.with_overrides({"due_working_days": 0})
    assert get_kind(slug).days_before(hurried) == days


def test_a_kind_that_nobody_knows_has_a_name_and_asks_for_nothing():
    kind = get_kind("rising_damp")
    assert (kind.name, kind.fix, kind.measurement) == ("Rising damp", "", None)


def test_places_are_said_in_metres():
    assert place("North wall", 2400, 5100) == "North wall, from 2.4 m to 5.1 m (2.7 m)"
    assert place("North wall", 2400, None) == "North wall, at 2.4 m"
    assert place("North wall", None, None) == "North wall"
    assert place("North wall", 0, 500) == "North wall, from 0 m to 0.5 m (0.5 m)"


def test_all_eight_states_and_territories_have_a_time_zone():
    assert set(STATES) == {"ACT", "NSW", "NT", "QLD", "SA", "TAS", "VIC", "WA"}
    assert STATES["WA"].zone == "Australia/Perth"


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.slug)
def test_a_wall_that_its_fix_washes_has_to_dry(kind):
    washes = re.search(r"\b(wash|rins)", f"{kind.fix} {kind.fix_measured}", re.I)
    assert kind.wets_wall or not washes, "Its fix may wet the wall: wets_wall=True."

"""Rule values: what they default to, which changes they take, how they are kept."""

import json
import re
from decimal import Decimal
from pathlib import Path

import pytest

from readiness.rules.defects.catalogue import KINDS
from readiness.rules.values.rule_values import (
    RULE_VALUES,
    RuleValueError,
    RuleValues,
    minutes_key,
    value_words,
)
from readiness.wording.refusals.firm import rule_value

PROJECT = Path(__file__).parents[3]

# Each value beside the source it was taken from: "seen" in the issuer's own text, "quoted" in
# another public one. What has no source is this business's own setting.
PUBLISHED_AND_PRACTICE = {
    "line_above_ground_mm": 75,  # common practice (no source): this product's rule
    "joint_thickness_mm": 10,  # ABCB Housing Provisions 5.6.4(1), 2025: bed joint and perpend
    "joint_tolerance_mm": 3,  # NZS 4210:2001, as quoted in a brick veneer guide
    "bottom_joint_max_mm": 20,  # NZS 4210:2001, as quoted there
    "brick_length_mm": 230,  # an open university building text
    "brick_height_mm": 76,  # an open university building text
    "weep_spacing_max_mm": 1200,  # ABCB Housing Provisions 5.7.5(1), 2025
    "articulation_spacing_max_mm": 6000,  # ABCB Housing Provisions 5.6.8, 2025
    "articulation_openings_mm": 5000,  # ABCB Housing Provisions 5.6.8, 2025
    "articulation_large_mm": 900,  # ABCB Housing Provisions 5.6.8, 2025: over 900 x 900 mm
    "articulation_beside_mm": 1200,  # ABCB Housing Provisions 5.6.8, 2025
    "articulation_corner_max_mm": 4500,  # ABCB Housing Provisions 5.6.8, 2025
    "articulation_corner_min_mm": 470,  # ABCB Housing Provisions 5.6.8, 2025
    "articulation_gap_mm": 10,  # ABCB Housing Provisions 5.6.8(2), 2025
    "brick_overhang_max_mm": 15,  # ABCB Housing Provisions 5.7.2, 2022 (seen)
    "ground_fall_mm": 50,  # ABCB Housing Provisions 3.3.3(a), 2022
    "ground_fall_low_rain_mm": 25,  # ABCB Housing Provisions 3.3.3(a), 2022
    "slab_above_soil_mm": 150,  # ABCB Housing Provisions 3.3.3(b)(iii), 2025
    "slab_above_sandy_mm": 100,  # ABCB Housing Provisions 3.3.3(b)(i), 2022
    "slab_above_paving_mm": 50,  # ABCB Housing Provisions 3.3.3(b)(ii), 2022
    "attachment_gap_mm": 25,  # AS 3660.2:2017 (extract)
    "inspection_interval_months": 12,  # a timber industry guide
    "rod_oversize_percent": 25,  # ASTM D5249, 5.2 (joints in pavement): 25 to 35 % wider
    "sealant_depth_percent": 50,  # CMAA CM01 (2019), 10.1: half the width
    "sealant_depth_min_mm": 6,  # CMAA CM01 (2019), 10.1
    "litres_per_10_m": Decimal("1.0"),  # common practice (no source)
    "average_perimeter_m": 60,  # common practice (no source)
    "tank_litres": Decimal("5"),  # common practice (no source)
    "solvent_ml_per_sprayer": 100,  # common practice (no source)
    "band_below_ground_mm": 0,  # common practice (no source); the label decides
    "tape_error_mm": 3,  # common practice (no source)
    "soil_by_applicator": 0,  # common practice (no source)
    "litres_less_percent": 20,  # common practice (no source)
    "litres_more_percent": 50,  # common practice (no source)
    "min_step_length_mm": 240,  # common practice (no source)
    "prefer_fewest_steps": 0,  # common practice (no source)
    "weep_courses_above_line": 1,  # common practice (no source)
    "courses_treated": 2,  # common practice (no source)
    "unfilled_depth_max_mm": 3,  # common practice (no source)
    "soil_on_brick_max_mm": 0,  # common practice (no source)
    "due_working_days": 2,  # common practice (no source)
    "drying_hours": 24,  # common practice (no source)
    "rain_drying_hours": 24,  # common practice (no source)
    "confirmation_valid_days": 7,  # common practice (no source)
    "confirmation_to_booking_days": 7,  # common practice (no source)
    "shared_list_valid_days": 21,  # common practice (no source)
    "invitation_valid_days": 7,  # common practice (no source)
    # Common practice (no source), worked out: 1 L over 10 m x two courses of 86 mm is 0.58 L/m²
    "render_litres_per_m2": Decimal("0.6"),
    "waste_percent": 10,  # common practice (no source)
    "drum_litres": Decimal("20"),  # common practice (no source)
    "sprayers": 1,  # common practice (no source)
    "pumps_per_5_l": 18,  # common practice: about 15 to 20
    "rod_diameters_mm": (6, 8, 10, 13, 16, 20, 25, 30, 40, 50),  # common practice (no source)
    "sealant_width_max_mm": 25,  # common practice (no source)
    "crack_sealant_alone_max_mm": 5,  # common practice (no source)
    "cartridge_ml": 600,  # common practice (no source)
    "sealant_waste_percent": 10,  # common practice (no source)
    "labour_cents_per_hour": 9000,  # common practice: the business sets it
}


# As they are printed, with how each is known.
SOURCES = {
    "joint_thickness_mm": ("quoted", "ABCB Housing Provisions 5.6.4(1), 2025"),
    "joint_tolerance_mm": ("quoted", "NZS 4210:2001 (a New Zealand standard)"),
    "bottom_joint_max_mm": ("quoted", "NZS 4210:2001 (a New Zealand standard)"),
    "brick_length_mm": ("seen", "an open university building text"),
    "brick_height_mm": ("seen", "an open university building text"),
    "weep_spacing_max_mm": ("quoted", "ABCB Housing Provisions 5.7.5(1), 2025"),
    "articulation_spacing_max_mm": ("quoted", "ABCB Housing Provisions 5.6.8, 2025"),
    "articulation_openings_mm": ("quoted", "ABCB Housing Provisions 5.6.8, 2025"),
    "articulation_large_mm": ("quoted", "ABCB Housing Provisions 5.6.8, 2025"),
    "articulation_beside_mm": ("quoted", "ABCB Housing Provisions 5.6.8, 2025"),
    "articulation_corner_max_mm": ("quoted", "ABCB Housing Provisions 5.6.8, 2025"),
    "articulation_corner_min_mm": ("quoted", "ABCB Housing Provisions 5.6.8, 2025"),
    "articulation_gap_mm": ("quoted", "ABCB Housing Provisions 5.6.8(2), 2025"),
    "brick_overhang_max_mm": ("seen", "ABCB Housing Provisions 5.7.2, 2022"),
    "ground_fall_mm": ("seen", "ABCB Housing Provisions 3.3.3(a), 2022"),
    "ground_fall_low_rain_mm": ("seen", "ABCB Housing Provisions 3.3.3(a), 2022"),
    "slab_above_soil_mm": ("quoted", "ABCB Housing Provisions 3.3.3(b)(iii), 2025"),
    "slab_above_sandy_mm": ("seen", "ABCB Housing Provisions 3.3.3(b)(i), 2022"),
    "slab_above_paving_mm": ("seen", "ABCB Housing Provisions 3.3.3(b)(ii), 2022"),
    "attachment_gap_mm": ("quoted", "AS 3660.2:2017"),
    "inspection_interval_months": ("quoted", "a timber industry guide"),
    "rod_oversize_percent": ("seen", "ASTM D5249, 5.2 (joints in pavement)"),
    "sealant_depth_percent": ("quoted", "CMAA CM01 (2019), 10.1"),
    "sealant_depth_min_mm": ("quoted", "CMAA CM01 (2019), 10.1"),
}


MINUTES = {minutes_key(slug) for slug in KINDS}


@pytest.mark.parametrize(("key", "value"), PUBLISHED_AND_PRACTICE.items())
def test_a_default_is_the_value_of_its_source(key, value):
    assert RuleValues.defaults()[key] == value


def test_each_default_stands_here_beside_its_source():
    missing = sorted(set(RULE_VALUES) - MINUTES - set(PUBLISHED_AND_PRACTICE))
    assert not missing, f"Say in this file where {', '.join(missing)} comes from."


def test_every_rule_value_is_used():
    """A value on the rule values page that changes nothing would promise what does not happen."""
    files = [file for part in ("readiness", "portal") for file in (PROJECT / part).rglob("*.py")]
    code = "".join(file.read_text() for file in files if file.name != "rule_table.py")
    used = set(re.findall(r"""["'](\w+)["']""", code)) | MINUTES
    unused = sorted(set(RULE_VALUES) - used)
    assert not unused, f"Nothing uses {', '.join(unused)}."


@pytest.mark.parametrize("rule", RULE_VALUES.values(), ids=lambda rule: rule.key)
def test_every_rule_value_says_its_unit_range_and_source(rule):
    parts = rule.default if isinstance(rule.default, tuple) else (rule.default,)
    assert all(rule.minimum <= part <= rule.maximum for part in parts)
    assert rule.explanation
    own = ("own", "this business's own setting")
    if rule.key == "unfilled_depth_max_mm":
        # ABCB Housing Provisions 5.6.4(3), 2025 (quoted): raked at most 10 mm deep
        own = ("own", f"{own[1]}, stricter than ABCB Housing Provisions 5.6.4(3), 2025")
    assert (rule.source.kind, rule.source.words) == SOURCES.get(rule.key, own)


def test_the_depth_of_a_joint_says_that_it_is_stricter_than_raking_and_why():
    # ABCB Housing Provisions 5.6.4(3), 2025 (quoted): 10 mm in 110 mm units, 5 mm in 90 mm units
    said = RULE_VALUES["unfilled_depth_max_mm"].explanation
    assert "10 mm deep (5 mm in units 90 mm wide)" in said
    assert "We ask for less, so that" in said


def test_no_source_is_from_memory_and_none_is_claimed_for_the_line():
    said = " ".join(f"{rule.source.words} {rule.explanation}" for rule in RULE_VALUES.values())
    assert "memory" not in said.lower()
    # Of AS 3660 only the gap of attachments is in the table; the 75 mm are nobody's but our own.
    assert re.findall(r"AS 3660\S*", said) == ["AS 3660.2:2017"]


# What a business may set each to.
LIMITS = {
    "line_above_ground_mm": (75, 300),
    "band_below_ground_mm": (0, 600),
    "tape_error_mm": (0, 20),
    "soil_by_applicator": (0, 1),
    "litres_less_percent": (0, 90),
    "litres_more_percent": (0, 300),
    "min_step_length_mm": (0, 5000),
    "prefer_fewest_steps": (0, 1),
    "weep_courses_above_line": (0, 5),
    "courses_treated": (1, 12),
    "joint_thickness_mm": (5, 20),
    "joint_tolerance_mm": (1, 10),
    "bottom_joint_max_mm": (10, 40),
    "brick_length_mm": (100, 600),
    "brick_height_mm": (40, 300),
    "weep_spacing_max_mm": (400, 1200),
    "articulation_spacing_max_mm": (3000, 6000),
    "articulation_openings_mm": (2500, 5000),
    "articulation_large_mm": (600, 900),
    "articulation_beside_mm": (300, 1200),
    "articulation_corner_max_mm": (2000, 4500),
    "articulation_corner_min_mm": (470, 1500),
    "articulation_gap_mm": (10, 40),
    "unfilled_depth_max_mm": (0, 10),
    "brick_overhang_max_mm": (0, 15),
    "slab_above_soil_mm": (150, 400),
    "slab_above_sandy_mm": (100, 400),
    "slab_above_paving_mm": (50, 400),
    "ground_fall_mm": (50, 300),
    "ground_fall_low_rain_mm": (25, 300),
    "attachment_gap_mm": (25, 300),
    "soil_on_brick_max_mm": (0, 20),
    "inspection_interval_months": (1, 12),
    "due_working_days": (0, 20),
    "drying_hours": (1, 168),
    "rain_drying_hours": (0, 168),
    "confirmation_valid_days": (1, 60),
    "confirmation_to_booking_days": (1, 60),
    "shared_list_valid_days": (1, 120),
    "invitation_valid_days": (1, 30),
    "litres_per_10_m": (Decimal("0.2"), Decimal("10")),
    "render_litres_per_m2": (Decimal("0.1"), Decimal("10")),
    "waste_percent": (0, 50),
    "tank_litres": (Decimal("1"), Decimal("200")),
    "drum_litres": (Decimal("1"), Decimal("205")),
    "average_perimeter_m": (10, 300),
    "solvent_ml_per_sprayer": (10, 5000),
    "sprayers": (1, 10),
    "pumps_per_5_l": (5, 40),
    "rod_oversize_percent": (0, 60),
    "rod_diameters_mm": (3, 100),
    "sealant_depth_percent": (30, 100),
    "sealant_depth_min_mm": (3, 20),
    "sealant_width_max_mm": (10, 50),
    "crack_sealant_alone_max_mm": (1, 10),
    "cartridge_ml": (100, 1000),
    "sealant_waste_percent": (0, 50),
    "labour_cents_per_hour": (0, 100000),
}


def test_the_limits_of_each_value_stand_here():
    missing = sorted(set(RULE_VALUES) - MINUTES - set(LIMITS))
    assert not missing, f"Say in LIMITS from what to what {', '.join(missing)} may be set."


@pytest.mark.parametrize(("key", "limits"), LIMITS.items())
def test_a_business_may_set_a_value_within_its_limits_and_no_further(key, limits):
    """Where a limit is drawn in, what a business had set is not used any more: on purpose only."""
    rule = RULE_VALUES[key]
    assert (rule.minimum, rule.maximum) == limits


def test_cleaning_may_be_said_to_take_up_to_two_working_days():
    limits = {(rule.minimum, rule.maximum) for key, rule in RULE_VALUES.items() if key in MINUTES}
    assert limits == {(0, 960)}


# What a code or standard asks for (least) or allows (most): a business may be stricter only.
LEAST = {
    "slab_above_soil_mm", "slab_above_sandy_mm", "slab_above_paving_mm", "ground_fall_mm",
    "ground_fall_low_rain_mm", "attachment_gap_mm", "articulation_gap_mm",
    "articulation_corner_min_mm",
}  # fmt: skip
MOST = {
    "brick_overhang_max_mm",
    "weep_spacing_max_mm", "articulation_spacing_max_mm", "articulation_openings_mm",
    "articulation_large_mm", "articulation_beside_mm", "articulation_corner_max_mm",
    "inspection_interval_months",
}  # fmt: skip


def test_what_a_code_asks_for_is_known_to_be_that():
    bounds = {"at_least": LEAST, "at_most": MOST}
    for bound, keys in bounds.items():
        assert {key for key, rule in RULE_VALUES.items() if rule.bound == bound} == keys


@pytest.mark.parametrize("key", sorted(LEAST | MOST))
def test_a_business_may_be_stricter_than_the_code_and_never_looser(key):
    rule = RULE_VALUES[key]
    by = 1 if key in LEAST else -1
    stricter = RuleValues.defaults().with_overrides({key: rule.default + by})
    assert stricter.source_words(key) == (
        f"this business's own setting, stricter than {rule.source.words}"
    )
    with pytest.raises(RuleValueError) as refused:
        RuleValues.defaults().with_overrides({key: rule.default - by})
    said = rule_value(refused.value)
    assert ("is not enough" if key in LEAST else "is too much") in said
    assert rule.source.words in said


def test_the_error_says_what_the_code_asks_for_and_what_can_be_done():
    with pytest.raises(RuleValueError) as refused:
        RuleValues.defaults().with_overrides({"slab_above_soil_mm": "100 mm"})
    assert rule_value(refused.value) == (
        "Slab above finished soil: 100 mm is not enough. It has to be at least 150 mm (ABCB "
        "Housing Provisions 3.3.3(b)(iii), 2025). You can ask for more."
    )


def test_a_looser_value_that_was_stored_before_leaves_what_the_code_asks_for():
    values, unusable = RuleValues.from_stored({"slab_above_soil_mm": 100, "ground_fall_mm": 60})
    assert (values["slab_above_soil_mm"], values["ground_fall_mm"]) == (150, 60)
    assert [one.key for one in unusable] == ["slab_above_soil_mm"]


def test_what_the_business_changed_is_its_own_setting():
    values = RuleValues.defaults().with_overrides({"joint_thickness_mm": 12, "drying_hours": 48})
    assert values.source_words("joint_thickness_mm") == "this business's own setting"
    assert values.source_words("drying_hours") == "this business's own setting"
    assert values.source_words("brick_height_mm") == "an open university building text"


def test_sizes_that_follow_from_the_values_are_those_of_the_sources():
    values = RuleValues.defaults()
    # an open university building text (seen): course 86 mm, perpends 240 mm apart
    assert values["brick_height_mm"] + values["joint_thickness_mm"] == 86
    assert values["brick_length_mm"] + values["joint_thickness_mm"] == 240
    # worked example in a brick veneer guide (quoted): 3300 mm with 38 courses is 86.8 mm a course,
    # within the joint tolerance of NZS 4210:2001 (quoted), 3 mm either way
    assert abs(Decimal(3300) / 38 - 86) <= values["joint_tolerance_mm"]


def test_a_business_may_ask_for_more_than_the_published_height_but_not_less():
    assert RuleValues.defaults().with_overrides({"line_above_ground_mm": "100"})[
        "line_above_ground_mm"
    ] == 100  # fmt: skip
    with pytest.raises(RuleValueError) as refused:
        RuleValues.defaults().with_overrides({"line_above_ground_mm": 50})
    assert "50 mm is out of range. It can be from 75 mm" in rule_value(refused.value)


@pytest.mark.parametrize("typed", ["100", " 100 ", "100 mm", "100mm", "100,0"])
def test_a_rule_value_is_read_with_its_unit_and_a_decimal_comma(typed):
    changed = RuleValues.defaults().with_overrides({"line_above_ground_mm": typed})
    assert changed["line_above_ground_mm"] == 100


@pytest.mark.parametrize(
    ("overrides", "message"),
    [
        ({"height_of_moon_mm": 1}, "There is no rule value called “height_of_moon_mm”"),
        ({"tank_litres": "lots"}, "First fill of the sprayer: “lots” is not a number"),
        ({"drying_hours": "1.5"}, "Drying after wet cleaning: “1.5” is not a whole number"),
        ({"drying_hours": "nan"}, "not a"),
        ({"rod_diameters_mm": " , "}, "enter at least one"),
        ({"rod_diameters_mm": "6, 900"}, "900 mm is out of range"),
    ],
)
def test_a_value_that_cant_be_used_is_refused_in_plain_words(overrides, message):
    with pytest.raises(RuleValueError) as refused:
        RuleValues.defaults().with_overrides(overrides)
    assert message in rule_value(refused.value)


def test_overriding_leaves_the_defaults_as_they_were():
    changed = RuleValues.defaults().with_overrides({"drying_hours": 48, "tank_litres": "7.5"})
    assert changed.changed() == {"drying_hours": 48, "tank_litres": Decimal("7.5")}
    assert RuleValues.defaults().changed() == {}


def test_kept_values_come_back_the_same():
    values = RuleValues.defaults().with_overrides(
        {"tank_litres": "7.5", "rod_diameters_mm": "8, 6,10"}
    )
    assert RuleValues.from_json(json.loads(json.dumps(values.as_dict()))) == values
    assert values["rod_diameters_mm"] == (6, 8, 10)


def test_a_report_keeps_a_value_that_todays_range_would_refuse():
    kept = RuleValues.from_json({"line_above_ground_mm": 60, "no_longer_known": 1})
    assert kept["line_above_ground_mm"] == 60
    assert kept["drying_hours"] == RuleValues.defaults()["drying_hours"]


def test_values_read_as_people_say_them():
    values = RuleValues.defaults()
    assert values.words("tank_litres") == "5 L"
    assert values.words("waste_percent") == "10%"
    assert value_words((6, 8, 10), "mm") == "6, 8 and 10 mm"


def test_the_minutes_of_every_kind_can_be_set():
    assert all(RULE_VALUES[minutes_key(slug)].default == KINDS[slug].minutes for slug in KINDS)


def test_one_of_a_unit_is_said_in_the_singular():
    values = RuleValues.defaults().with_overrides({"confirmation_valid_days": 1})
    assert values.words("confirmation_valid_days") == "1 day"
    assert values.words("due_working_days") == "2 working days"
    assert values.words("drying_hours") == "24 h"

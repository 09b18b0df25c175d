"""A kind or rule value that was taken out, renamed or narrowed breaks nothing that was kept."""

from decimal import Decimal

import pytest

from readiness.rules.band.quantities import cleaning_cost
from readiness.rules.defects.catalogue import KINDS, check_measurement, get_kind
from readiness.rules.defects.defect_kind import kind_words, with_words
from readiness.rules.values.rule_values import RULE_VALUES, RuleValues
from readiness.rules.values.sources import Source, SourceKind
from readiness.wording.refusals.firm import rule_value

SEEN = Source(SourceKind.SEEN, "Another", "2031")


def test_a_stored_change_that_is_out_of_range_now_leaves_the_default_and_the_others(later):
    later.change_rule("due_working_days", maximum=5)
    values, unusable = RuleValues.from_stored({"due_working_days": 9, "tank_litres": "7.5"})
    assert values["due_working_days"] == RULE_VALUES["due_working_days"].default
    assert values["tank_litres"] == Decimal("7.5")
    (one,) = unusable
    assert (one.key, one.stored) == ("due_working_days", 9)
    assert "9 working days is out of range" in rule_value(one.error)


@pytest.mark.parametrize(
    ("key", "stored", "words"),
    [
        ("height_of_moon_mm", 3, "There is no rule value"),
        ("drying_hours", "1.5", "not a whole number"),
        ("drying_hours", [1, 2], "not a number"),
        ("drying_hours", None, "not a number"),
        ("rod_diameters_mm", 5.5, "not a whole number"),
        ("rod_diameters_mm", [], "enter at least one"),
        ("rod_diameters_mm", [6, 900], "900 mm is out of range"),
    ],
)
def test_whatever_is_stored_the_default_is_used(key, stored, words):
    values, unusable = RuleValues.from_stored({key: stored, "waste_percent": 20})
    assert words in rule_value(unusable[0].error)
    assert values.changed() == {"waste_percent": 20}


def test_a_kind_that_was_taken_out_keeps_a_name(later):
    later.take_out_kind("mortar_drop")
    later.take_out_kind("wet_brick", name="Brick too wet")
    assert get_kind("mortar_drop").name == "Mortar drop"
    assert get_kind("wet_brick").name == "Brick too wet"
    assert check_measurement(get_kind("mortar_drop"), 40, RuleValues.defaults()) is None
    assert cleaning_cost(["mortar_drop", "dirty_brick"], RuleValues.defaults()).minutes == (
        KINDS["dirty_brick"].minutes
    )


def test_a_kind_whose_rule_was_taken_out_is_held_against_nothing(later):
    key = KINDS["attachment_too_close"].measurement.rule_key
    later.take_out_rule(key)
    check = check_measurement(KINDS["attachment_too_close"], 10, RuleValues.defaults())
    assert check.ok
    assert check.needed is None
    assert KINDS["attachment_too_close"].required_fix(RuleValues.defaults(), measured=10)


def test_the_words_of_a_kind_come_back_as_they_were_kept(later):
    kind = KINDS["gap_too_wide"]
    kept = kind_words(kind)
    later.change_kind("gap_too_wide", name="Wide gap", measurement=None)
    then = with_words(get_kind("gap_too_wide"), kept)
    assert (then.name, then.measurement) == (kind.name, kind.measurement)


def test_the_rules_of_a_report_come_back_as_they_were_kept(later):
    values = RuleValues.defaults().with_overrides({"drying_hours": 48})
    kept, rules = values.as_dict(), values.rules_as_list()
    before = [(rule.key, rule.label, values.words(rule.key)) for rule in values.rules()]
    later.change_rule("drying_hours", label="Drying", default=12, source=SEEN, unit="hours")
    later.take_out_rule("sprayers")
    then = RuleValues.from_json(kept, rules)
    after = [(rule.key, rule.label, then.words(rule.key)) for rule in then.rules()]
    assert after == [row for row in before if row[0] in {entry["key"] for entry in rules}]
    assert then.changed() == {"drying_hours": 48}
    assert then.rule("drying_hours").source != RULE_VALUES["drying_hours"].source
    assert then != RuleValues.from_json(kept)


def test_a_kept_value_of_a_rule_that_was_taken_out_stays_a_value(later):
    kept = RuleValues.defaults().as_dict()
    later.take_out_kind("mortar_drop")
    then = RuleValues.from_json(kept)
    assert then["minutes_mortar_drop"] == kept["minutes_mortar_drop"]
    assert then.changed() == {}


def test_a_kept_value_of_another_shape_leaves_the_default():
    then = RuleValues.from_json({"rod_diameters_mm": 5, "drying_hours": [1, 2], "sprayers": "x"})
    assert then["rod_diameters_mm"] == RULE_VALUES["rod_diameters_mm"].default
    assert then["drying_hours"] == RULE_VALUES["drying_hours"].default
    assert then["sprayers"] == RULE_VALUES["sprayers"].default

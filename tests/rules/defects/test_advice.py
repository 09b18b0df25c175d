"""Advice that must never be given, in every sentence that the catalogue and the rules can say.

Common practice (no source): a joint that must move takes backing rod and flexible sealant, never
mortar; a gap beside a frame or round a pipe belongs to the trade that owns it.
"""

import re
from dataclasses import replace

import pytest

from readiness.rules.band.geometry import Joint
from readiness.rules.band.quantities import site_quantities
from readiness.rules.defects.catalogue import KINDS, get_kind
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.values.rule_values import RULE_VALUES, RuleValues
from readiness.wording.paper import guide
from readiness.wording.proposals import required_fix, why
from readiness.wording.quantities import notes
from tests.rules.walls import brick_wall

VALUES = RuleValues.defaults()
MEASURED = (None, 0, 1, 4, 6, 12, 20, 26, 40, 100, 230, 500, 1999)
REFUSAL = r"\b(?:no|never|not|without|ask)\b"
MOVES = r"articulation|expansion|control joint|movement|must (?:still )?(?:be able to )?move"


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.!?])\s+", text) if part]


def said_of(kind) -> list[str]:
    """Every required fix of a kind, with and without a measurement, and what to look for."""
    fixes = [kind.required_fix(VALUES, measured=value, from_mm=900) for value in MEASURED]
    return [*dict.fromkeys(fixes), kind.look_for]


def everything_said() -> list[str]:
    texts = [text for kind in KINDS.values() for text in said_of(kind)]
    texts += [rule.explanation for rule in RULE_VALUES.values()]
    for kind in ("articulation", "crack"):
        for width in (3, 12, 26, 60):
            run = brick_wall((0, -200), joints=(Joint(900, width, kind=kind),))
            texts += [required_fix(item, VALUES) for item in proposed_items(run, VALUES)]
            texts += [why(item) for item in proposed_items(run, VALUES)]
            texts += notes(site_quantities([run], VALUES), VALUES)
    return [*texts, *(words for _, words in guide.ready_means(VALUES.words))]


def wrong_mortar(text: str) -> bool:
    """Whether a sentence asks for mortar in a gap, crack or joint that has to move, or may."""
    for part in sentences(text):
        asks = re.search(
            r"\b(?:fill|filled|point|pack|press)\w*\b.*\bmortar|mortar\b.*\bfill", part, re.I
        )
        loose = re.search(rf"\bgap|crack|frame|pipe|{MOVES}", part, re.I)
        if asks and loose and not re.search(REFUSAL, part, re.I) and "between bricks" not in part:
            return True
    return False


def test_the_check_finds_what_it_is_for():
    assert wrong_mortar("The gap is 38 mm wide. Fill the gap with mortar at 0.9 m.")
    assert wrong_mortar("A wider gap is filled with mortar.")
    assert not wrong_mortar("No mortar in an articulation joint.")


@pytest.mark.parametrize("text", sorted(set(everything_said())))
def test_nobody_is_told_to_put_mortar_where_a_joint_must_move(text):
    assert not wrong_mortar(text)


@pytest.mark.parametrize("slug", ["gap_too_wide", "unfilled_joint"])
@pytest.mark.parametrize("measured", MEASURED)
def test_where_mortar_is_asked_for_the_fix_says_where_it_must_not_go(slug, measured):
    text = get_kind(slug).required_fix(VALUES, measured=measured)
    (refusal,) = [part for part in sentences(text) if re.search(r"no mortar", part, re.I)]
    for place in ("articulation", "frame", "pipe"):
        assert place in refusal
    assert "ask us" in refusal


@pytest.mark.parametrize("width", [26, 40, 90])
def test_a_wide_articulation_joint_is_never_proposed_as_a_gap_to_fill(width):
    run = brick_wall((0, -200), joints=(Joint(900, width),))
    (item,) = [part for part in proposed_items(run, VALUES) if part.from_mm == 900]
    assert item.kind == "articulation_unsealed"
    assert "Ask us before filling it" in required_fix(item, VALUES)
    assert "mortar" not in required_fix(item, VALUES)


def texts_of(*slugs) -> list[str]:
    return [text for slug in slugs for text in said_of(get_kind(slug))[:-1]]


@pytest.mark.parametrize(
    "text",
    texts_of("unfilled_joint", "render_line_low", "no_struck_joint"),
)
def test_raking_and_cutting_come_with_a_word_on_silica_dust(text):
    # Crystalline silica, 0.05 mg/m3 over 8 h: a state regulator's page
    assert "silica" in text


@pytest.mark.parametrize("text", texts_of("soil_against_brick", "ground_too_high", "weep_hole_low"))
def test_digging_comes_with_a_word_on_buried_services(text):
    assert "buried" in text


@pytest.mark.parametrize("text", texts_of("attachment_too_close"))
def test_nobody_but_its_own_trade_moves_a_meter_or_gas_installation(text):
    assert "meter" in text
    assert "gas" in text
    assert "ask" in text


@pytest.mark.parametrize("text", texts_of("render_line_low"))
def test_a_joint_that_is_cut_higher_leaves_the_old_one_made_good(text):
    assert "make good the old" in text


@pytest.mark.parametrize("text", texts_of("dirty_brick", "tap_splashes"))
def test_no_acid_goes_on_brick_that_is_to_be_treated_unless_asked(text):
    # Public technical articles: rinse and neutralise before anything else goes on
    assert "No acid" in text


def test_a_kind_without_words_for_a_measurement_keeps_its_plain_ones():
    kind = replace(get_kind("unfilled_joint"), fix_measured="")
    said = kind.required_fix(VALUES, measured=30, from_mm=900)
    assert said == kind.required_fix(VALUES, from_mm=900) != ""

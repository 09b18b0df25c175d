"""Every code has words and a next step for everybody who can meet it; the test finds what lacks."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given

from readiness.rules.band.geometry import FinishToCome, GroundPoint, Opening, WallRun
from readiness.rules.codes import Code
from readiness.rules.site.assessment import (
    BOTH,
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    Reason,
    ReferralFacts,
    ReportFacts,
    SiteFacts,
    VisitFacts,
    assess,
)
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.builder.sentence import say
from readiness.wording.office import OFFICE
from readiness.wording.paper.reasons import PAPER
from tests.rules.site.test_priority import any_site
from tests.rules.walls import brick_wall, rendered_wall

NOW = datetime(2026, 3, 10, 2, 0, tzinfo=UTC)  # 1 pm on a Tuesday in Sydney
ID = "0b0ee6a7-6b5e-4c30-9f0c-6a1e0d3c7b11"
RUN = WallRun(ID, "North wall", 6000)
REPORT = ReportFacts(2, NOW - timedelta(days=3), (CheckFacts(ID, NOW),))
SITE = SiteFacts(runs=(RUN,), report=REPORT, now=NOW)
ITEM = ItemFacts(ID, 1, ID, "dirty_brick", from_mm=2400, to_mm=5100, due_on=date(2026, 3, 12))
STATED = ConfirmationFacts(NOW - timedelta(hours=2), 2, ticked_run_ids=frozenset({ID}))
AWAY = VisitFacts("turned_away", date(2026, 3, 9), NOW - timedelta(hours=1), "Soil is back")
FOUND = ReferralFacts(ID, "live_termites", NOW - timedelta(days=1), ID, 2400)
BARRED = ReferralFacts(ID, "no_access", NOW - timedelta(days=1), ID, 0, 4200, "boundary")
LOW = rendered_wall((0, -140))
BAND = replace(brick_wall((0, -300)), id=ID)

AUDIENCES = (OFFICE, BUILDER, PAPER)


def on(day: int) -> BookingFacts:
    return BookingFacts("offered", treat_on=date(2026, 3, day))


def items(**fields) -> dict:
    return {"items": (replace(ITEM, **fields),)}


FACTS: dict[Code, dict] = {
    Code.NO_RUNS: {"runs": ()},
    Code.NO_REPORT: {"report": None},
    Code.RUN_UNCHECKED: {"report": replace(REPORT, checks=())},
    Code.LIVE_TERMITES: {"referrals": (FOUND,)},
    Code.SITE_STAYS_CLOSED: {
        "referrals": (replace(FOUND, outcome="stays_closed", decided_at=NOW),),
    },
    Code.ACCESS_UNDECIDED: {"referrals": (BARRED,)},
    Code.ITEM_TO_FIX: items(),
    Code.ITEM_SENT_BACK: items(state="sent_back"),
    Code.ITEM_DISPUTED: items(disputed=True),
    Code.WAITING_FOR_REVIEW: items(state="said_fixed"),
    Code.DRYING: items(state="accepted", cleaned_wet_at=NOW - timedelta(hours=1)),
    Code.RAIN: {"rain_at": NOW - timedelta(hours=1)},
    Code.NOT_CONFIRMED: {},
    Code.CONFIRMATION_WITHDRAWN: {"confirmation": replace(STATED, withdrawn_at=NOW)},
    Code.CONFIRMATION_SUPERSEDED: {"confirmation": replace(STATED, report_number=1)},
    Code.CONFIRMATION_NEW_ITEM: {"confirmation": STATED, **items(issued_at=NOW)},
    Code.CONFIRMATION_EXPIRED: {
        "confirmation": replace(STATED, confirmed_at=NOW - timedelta(days=8))
    },
    Code.RUN_UNTICKED: {"confirmation": replace(STATED, ticked_run_ids=frozenset())},
    Code.TURNED_AWAY: {"last_visit": AWAY},
    Code.DATE_PAST: {"confirmation": STATED, "booking": on(9)},
    Code.DATE_TOO_LATE: {"confirmation": STATED, "booking": on(18)},
    Code.LEVELS_UNBELIEVABLE: {"runs": (replace(RUN, ground_today=(GroundPoint(0, -9000),)),)},
    Code.NO_LEVELS: {},
    Code.NO_STRUCK_JOINT: {"runs": (replace(LOW, id=ID, struck_joint_mm=None, struck_steps=()),)},
    Code.LEVELS_SHORT: {"runs": (replace(LOW, id=ID),)},
    Code.LEVELS_TO_DECIDE: {"runs": (replace(BAND, openings=(Opening(1000, 1900),)),)},
    Code.SOIL_TO_CLEAR: {"runs": (BAND,)},
    Code.BARE_BRICK: {
        "runs": (replace(BAND, finishes_to_come=(FinishToCome(0, 6000, 100, "paving"),)),)
    },
    Code.BRICKWORK_BOTTOM_UNKNOWN: {"runs": (BAND,)},
    Code.APPLICATOR_WILL_DO: items(effect="applicator"),
}
"""For each code what makes a site have it; a new code is told here too."""


def reason_of(code: Code) -> Reason:
    assert code in FACTS, f"Say in FACTS what makes a site have {code}."
    found = assess(replace(SITE, **FACTS[code]))
    of_code = [reason for reason in (*found.reasons, *found.notes) if reason.code is code]
    assert of_code, f"What FACTS says of {code} does not bring it about."
    return of_code[0]


@pytest.mark.parametrize("audience", AUDIENCES, ids=lambda audience: audience.name)
@pytest.mark.parametrize("code", Code)
def test_each_code_has_words_and_a_step_or_is_never_met_on_purpose(code, audience):
    if code in audience.never:
        assert audience.never[code], "says why"
        assert code not in audience.words
        assert code not in audience.steps
        return
    reason = reason_of(code)
    assert code in audience.words, f"The {audience.name} has no words for {code}."
    assert code in audience.steps, f"The {audience.name} has no step for {code}, nor None."
    said = audience.sentence(reason)
    assert said.endswith((".", "”")), said
    assert said[0].isupper() or said.startswith("“"), said
    assert "%(" not in said and "None" not in said, said  # noqa: PT018  (a parameter is missing)
    step = audience.step(reason)
    if step is not None:
        assert step.label
        assert "None" not in f"{step.page}{step.place}{step.about}"


@given(any_site)
def test_whatever_a_site_is_like_both_sides_are_told_every_reason(facts):
    found = assess(facts)
    for reason in found.reasons:
        assert OFFICE.sentence(reason)
        assert BUILDER.sentence(reason)
    for note in found.notes:
        assert OFFICE.sentence(note)


@pytest.mark.parametrize("missing", [False, True], ids=["wrong", "missing"])
def test_a_reason_without_a_sentence_of_its_own_is_said_to_the_builder_as_it_is(missing):
    """And never in the words of another, such as that nobody has been there yet."""
    new = Reason(code=Code.RUN_UNTICKED, labels=("Porch",), blocks=BOTH, missing=missing)
    found = replace(assess(SITE), reasons=(new,))
    assert say(SITE, found).sentence == "The confirmation does not cover Porch."


def said(code: Code, audience) -> str:
    return audience.sentence(reason_of(code))


def test_an_item_is_said_with_its_place_and_due_day():
    assert said(Code.ITEM_TO_FIX, OFFICE) == (
        "Dirty brick, North wall, from 2.4 m to 5.1 m (2.7 m): still to fix. "
        "It is due on Thu 12 March 2026."
    )
    late = assess(replace(SITE, **items(due_on=date(2026, 3, 9)))).reasons[0]
    assert BUILDER.sentence(late).endswith("It was due on Mon 9 March 2026.")


def test_a_visit_in_vain_is_said_with_what_was_written_down():
    assert said(Code.TURNED_AWAY, OFFICE) == (
        "Not ready when we came on Mon 9 March 2026: “Soil is back”. "
        "The builder has to confirm readiness again before we can book a new day."
    )
    assert said(Code.TURNED_AWAY, BUILDER).endswith(
        "“Soil is back”. Confirm readiness again, then choose a new day."
    )


def test_drying_says_how_long_and_until_when_at_the_site():
    told = "was washed. It needs 24 h%s to dry, until 12:00 pm on Wed 11 March 2026."
    assert said(Code.DRYING, BUILDER).endswith(told % "")
    assert said(Code.DRYING, PAPER).endswith(told % " (this business's own setting)")


def test_each_side_is_told_what_it_has_to_do_about_a_day_that_does_not_suit():
    assert "Offer a day by then" in said(Code.DATE_TOO_LATE, OFFICE)
    assert "Your confirmation" in said(Code.DATE_TOO_LATE, BUILDER)
    assert "Tue 17 March 2026" in said(Code.DATE_TOO_LATE, BUILDER)


def test_a_builder_never_reads_of_themselves_as_somebody_else():
    for code in BUILDER.words:
        assert "builder" not in said(code, BUILDER).lower(), code

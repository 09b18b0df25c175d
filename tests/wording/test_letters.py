"""What e-mails say, from facts alone: to each side in its own words, and no more than is so."""

from dataclasses import replace
from datetime import date

import pytest

from readiness.models import Booking, Builder, DefectItem, Site, WallRun
from readiness.rules.codes import Code
from readiness.rules.site.assessment import assess
from readiness.rules.vocabulary import Caution
from readiness.wording.cautions import caution
from readiness.wording.letters import both, builder, office
from tests.wording.test_audiences import FACTS, SITE, STATED, on

HOUSE = Site(
    street="12 Tallowood Way", suburb="Mirrin Vale", state="NSW", postcode="2999",
    builder=Builder(name="Wattle Homes"),
)  # fmt: skip
WEDNESDAY = Booking(
    site=HOUSE, day=date(2026, 3, 11), half="morning", preferences=[], note="", offer_note=""
)
TREATED = date(2026, 3, 2)


def item(number=1, **fields):
    fields = {
        "kind": "mortar_drop",
        "required_fix": "Chip it off.",
        "trade": "bricklayer",
        **fields,
    }
    return DefectItem(number=number, wall_run=WallRun(label="North wall"), **fields)


def about(**fields):
    fields = {"to_fix": (), "left": "", "checked": 0, **fields}
    return builder.report_issued(builder.Report(HOUSE, 2, **fields))


def test_what_is_to_fix_is_said_with_place_trade_and_day():
    told = about(to_fix=[item(from_mm=2400, due_on=date(2026, 3, 12))], left="1 thing to fix")
    assert told.subject == "1 thing to fix: 12 Tallowood Way, Mirrin Vale"
    assert told.opening == (
        "12 Tallowood Way, Mirrin Vale NSW 2999 is not ready: 1 thing to fix. Report 2 has the "
        "details."
    )
    assert told.points == [
        "1. North wall, at 2.4 m: Chip it off. Bricklayer, by Thursday 12 March.",
        f"Take care. {caution(Caution.SILICA)}",
    ]
    assert told.closing == (
        "Mark it as fixed, with a photo. Then confirm that the site is ready and choose a day."
    )


def test_an_item_without_a_place_or_a_day_is_said_without_them():
    assert about(to_fix=[item()]).points[0] == "1. North wall: Chip it off. Bricklayer."


def test_what_can_hurt_is_said_once_and_not_of_what_nobody_is_asked_to_fix():
    told = about(to_fix=[item(), item(2), item(3, kind="weep_hole_blocked")]).points
    assert len(told) == 4
    assert " ".join(told).count("silica") == 1
    assert len(about(to_fix=[item(kind="weep_hole_blocked")]).points) == 1


@pytest.mark.parametrize("fields", [{"to_fix": [item()]}, {"checked": 1}, {}])
def test_a_treated_house_is_never_said_to_be_unready_nor_asked_to_be_confirmed(fields):
    told = about(treated_on=TREATED, **fields)
    assert told.opening.startswith(f"{HOUSE.address} was treated on Monday 2 March.")
    text = f"{told.opening} {told.closing} {told.link_label}"
    assert "not ready" not in text
    assert "onfirm" not in text


def test_while_we_check_everything_nothing_is_said_to_be_fixed_or_ready():
    told = about(checked=2)
    assert "nothing for you to fix right now. We are checking 2 things." in told.opening
    assert "ready" not in told.opening


WALL = "Nobody can reach North wall, from 0 m to 4.2 m (4.2 m)."


def offered(**facts):
    return builder.day_offered(HOUSE, WEDNESDAY, assess(replace(SITE, **facts))).opening


def test_an_offer_says_what_comes_before_accepting_it():
    day = "We can treat 12 Tallowood Way, Mirrin Vale NSW 2999 on Wednesday 11 March, morning."
    open_offer = {"booking": on(11)}
    assert offered(**open_offer, confirmation=STATED) == f"{day} Accept to book."
    assert offered(**open_offer) == f"{day} Confirm readiness first, then accept to book."
    assert offered(**open_offer, **FACTS[Code.ITEM_TO_FIX]) == (
        f"{day} The site is not ready yet. Once it is, confirm readiness, then accept to book."
    )
    assert offered(booking=on(9), confirmation=STATED).endswith("Mon 9 March 2026 has passed.")


def test_an_offer_says_that_our_technician_still_has_to_decide_and_asks_nothing_for_it():
    undecided = {"booking": on(11), **FACTS[Code.ACCESS_UNDECIDED]}
    said = "Our technician decides: nothing for you to do."
    assert offered(**undecided, confirmation=STATED).endswith(f"morning. {WALL} {said}")
    for facts in ({}, FACTS[Code.ITEM_TO_FIX]):
        assert offered(**undecided, **facts).endswith(f"then accept to book. {WALL} {said}")


def test_a_cancelled_booking_names_its_day_if_it_had_one_and_why_if_somebody_said():
    asked = Booking(site=HOUSE, closing_note=" ")
    assert both.cancelled(HOUSE, asked, was_booked=False).opening == (
        f"The booking at {HOUSE.address} is cancelled."
    )
    dated = Booking(site=HOUSE, day=WEDNESDAY.day, half="afternoon", closing_note="Storm")
    told = both.cancelled(HOUSE, dated, was_booked=True)
    assert told.opening == (
        f"The booking for Wednesday 11 March, afternoon, at {HOUSE.address}, is cancelled: “Storm”."
    )
    assert "takes the day out of your calendar" in told.closing


@pytest.mark.parametrize("is_made", [True, False])
def test_a_treatment_record_is_said_to_be_there_only_once_it_is(is_made):
    told = builder.treated(HOUSE, WEDNESDAY, is_made)
    assert ("is with the site's papers" in told.opening) is is_made


def test_a_withdrawn_item_needs_nothing_and_one_that_stands_says_why():
    gone = item(1, decision=DefectItem.Decision.WITHDRAWN)
    stands = item(2, decision=DefectItem.Decision.STANDS, decision_reason="It is in the band.")
    assert builder.dispute_decided(HOUSE, [gone, stands]).points == [
        "1. Mortar drop: item withdrawn, no action needed.",
        "2. Mortar drop: it stands. “It is in the band.”",
    ]


def test_only_the_office_reads_of_the_builder_by_name():
    reasons = {item(): "Not ours"}
    for told in (office.reported_fixed(HOUSE, reasons), office.disputed(HOUSE, reasons)):
        assert told.opening.startswith("Wattle Homes ")
    for told in (builder.accepted(HOUSE, reasons), builder.sent_back(HOUSE, reasons)):
        assert told.opening.startswith("We ")
        assert "uilder" not in told.opening

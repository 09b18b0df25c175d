"""The one sentence that a builder reads about a site, from facts alone."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from readiness.rules.band.geometry import WallRun
from readiness.rules.site.assessment import (
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    ReportFacts,
    SiteFacts,
    VisitFacts,
    assess,
)
from readiness.wording.builder.sentence import say
from readiness.wording.builder.trades import trade_words
from readiness.wording.saying import Turn

SYDNEY = ZoneInfo("Australia/Sydney")
NOW = datetime(2027, 3, 8, 1, 0, tzinfo=UTC)  # Monday noon in Sydney
TODAY = date(2027, 3, 8)
RUN = WallRun(id="n", label="North wall", length_mm=12_000, finish="face_brick")
REPORT = ReportFacts(2, NOW - timedelta(days=3), (CheckFacts("n", NOW - timedelta(days=3)),))
CONFIRMED = ConfirmationFacts(
    confirmed_at=NOW - timedelta(hours=2),
    report_number=2,
    valid_until=NOW + timedelta(days=7),
    ticked_run_ids=frozenset({"n"}),
)


def item(number=1, **fields):
    fields = {"kind": "mortar_drop", "from_mm": 1000, "trade": "bricklayer", **fields}
    fields.setdefault("due_on", date(2027, 3, 12))
    return ItemFacts(
        id=str(number), number=number, run_id="n", issued_at=REPORT.issued_at, **fields
    )


def said(*items, last=None, closed=False, **fields):
    fields = {"report": REPORT, "runs": (RUN,), "last_visit": last, **fields}
    facts = SiteFacts(now=NOW, items=items, check_levels=False, **fields)
    return say(facts, assess(facts), closed)


def booking(state, day=None, hour=7):
    at = datetime(day.year, day.month, day.day, hour, tzinfo=SYDNEY) if day else None
    return BookingFacts(state, treat_on=day, treat_at=at)


def test_it_counts_what_to_fix_names_the_first_day_and_the_trade_with_most():
    saying = said(
        item(1),
        item(2, due_on=date(2027, 3, 15)),
        item(3, trade="renderer"),
        item(4, trade="sealing"),
    )
    assert saying.sentence == "3 due by 12 March, 1 later. 2 for the bricklayer."
    assert saying.step.page == "builder:site"
    assert saying.turn is Turn.BUILDERS
    assert saying.tone == "holds"


@pytest.mark.parametrize(
    ("trades", "words"),
    [
        (["builder"], ""),
        (["builder", "builder"], ""),
        (["bricklayer"], "for the bricklayer"),
        (["bricklayer"] * 2, "both for the bricklayer"),
        (["sealing"] * 3, "all for sealing"),
        (["renderer", "bricklayer", "bricklayer"], "2 for the bricklayer and 1 for the renderer"),
        (["renderer", "builder", "builder"], "2 for you and 1 for the renderer"),
        (["renderer", "painter", "cleaner", "cleaner"], "2 for the cleaner"),
        (["renderer", "painter", "builder"], "for 3 trades"),
    ],
)
def test_trades_are_named_as_people_say_them(trades, words):
    assert trade_words(trades) == words


def test_what_is_overdue_is_said_with_the_day_since_when():
    late = {"due_on": date(2027, 3, 5), "trade": "builder"}
    assert said(item(1, **late)).sentence == "1 overdue since 5 March."
    mixed = said(item(1, **late), item(2, trade="builder"))
    assert mixed.sentence == "1 overdue since 5 March, 1 due by 12 March."


def test_what_is_due_today_and_what_was_sent_back_is_said():
    due = {"due_on": TODAY, "trade": "builder"}
    assert said(item(1, **due)).sentence == "1 due today."
    assert (
        said(item(1, state="sent_back", **due), item(2, **due)).sentence
        == "1 due today, 1 sent back (due today)."
    )


def test_while_fixes_are_looked_at_the_builder_only_waits():
    saying = said(item(1, state="said_fixed"), item(2, state="said_fixed"), item(3, disputed=True))
    assert saying.sentence == "We still have to check 2 fixes and 1 item that you dispute."
    assert saying.turn is Turn.NOBODYS
    assert saying.tone == "waits"


def test_fixes_not_reviewed_do_not_hide_what_is_still_to_fix():
    saying = said(item(1, state="said_fixed"), item(2))
    assert saying.sentence == "1 thing to fix by 12 March, for the bricklayer."


def test_where_said_fixed_is_enough_it_is_ready_to_confirm():
    saying = said(item(1, state="said_fixed"), reported_is_enough=True)
    assert saying.sentence == "Ready to confirm."
    assert saying.step.page == "builder:confirm"


def test_a_site_without_a_report_waits_for_us():
    assert said(report=None).sentence == "We have not issued a report for this site yet."
    asked = said(report=None, booking=BookingFacts("asked"))
    assert asked.sentence == "You asked for a day. We have not issued a report for this site yet."


def test_a_wall_nobody_looked_at_is_named():
    other = WallRun(id="s", label="South wall", length_mm=9000, finish="render")
    assert said(runs=(RUN, other)).sentence == "We still have to check South wall."


def test_drying_says_until_when_in_the_sites_own_time():
    washed = item(1, state="accepted", cleaned_wet_at=NOW - timedelta(hours=20))
    assert said(washed).sentence == "Drying until 4:00 pm on Monday 8 March."


def test_nothing_to_fix_is_ready_to_confirm():
    saying = said(item(1, state="accepted"))
    assert saying.sentence == "Ready to confirm."
    assert saying.tone == "ready"


def test_confirmed_ready_says_until_when_and_asks_for_a_day():
    saying = said(confirmation=CONFIRMED)
    assert saying.sentence == "Confirmed ready until Monday 15 March: ask for a day."
    assert saying.step.page == "builder:book"


def test_a_confirmation_that_ran_out_says_why():
    old = ConfirmationFacts(
        confirmed_at=NOW - timedelta(days=9),
        report_number=2,
        valid_until=NOW - timedelta(days=2),
        ticked_run_ids=frozenset({"n"}),
    )
    saying = said(confirmation=old)
    assert saying.sentence.startswith("Ready to confirm again. The confirmation ran out at")
    assert "builder" not in saying.sentence
    assert saying.step.page == "builder:confirm"


def test_asked_offered_and_booked_days_read_as_people_say_them():
    thursday = date(2027, 3, 11)
    asked = said(confirmation=CONFIRMED, booking=booking("asked"))
    assert asked.sentence == "Confirmed ready. You asked for a day. We will offer one."
    declined = said(confirmation=CONFIRMED, booking=BookingFacts("asked", was_asked=False))
    assert declined.sentence == (
        "Confirmed ready. You turned down the day we offered. We will offer another."
    )
    offered = said(confirmation=CONFIRMED, booking=booking("offered", thursday))
    assert offered.sentence == "We offered Thursday morning. Accept to book."
    assert offered.turn is Turn.BUILDERS
    booked = said(confirmation=CONFIRMED, booking=booking("confirmed", thursday, hour=12))
    assert booked.sentence == "Booked for Thursday afternoon."
    assert booked.turn is Turn.NOBODYS


def test_a_day_further_off_is_said_with_its_date():
    monday = date(2027, 3, 15)
    booked = said(confirmation=CONFIRMED, booking=booking("confirmed", monday))
    assert booked.sentence == "Booked for Monday 15 March, morning."


def test_a_booked_site_that_is_no_longer_ready_leads_to_what_is_in_the_way():
    thursday = date(2027, 3, 11)
    saying = said(item(1), confirmation=CONFIRMED, booking=booking("confirmed", thursday))
    assert saying.sentence == "Booked for Thursday morning, but 1 thing still to fix."
    assert saying.step.page == "builder:site"
    unconfirmed = said(booking=booking("confirmed", thursday))
    assert unconfirmed.step.page == "builder:confirm"
    assert unconfirmed.tone == "holds"


def test_an_offer_while_things_are_to_fix_is_mentioned():
    saying = said(item(1), booking=booking("offered", date(2027, 3, 11)))
    assert saying.sentence.endswith("We are holding Thursday morning, if this is done.")
    assert saying.step.page == "builder:site"


def test_an_offer_that_went_by_is_offered_no_more():
    monday = booking("offered", TODAY - timedelta(days=1))
    saying = said(confirmation=CONFIRMED, booking=monday)
    assert saying.sentence.endswith("; that day has passed. Ask for another.")
    assert saying.step.label == "Ask for a day"
    assert said(item(1), booking=monday).sentence.endswith("; that day has passed.")
    assert said(booking=monday).sentence.endswith("; that day has passed.")


def test_treated_turned_away_and_archived_sites_say_so():
    visit = VisitFacts("treated", date(2027, 3, 4), NOW - timedelta(days=1))
    assert said(last=visit).sentence == "Treated on Thursday 4 March."
    away = VisitFacts("turned_away", date(2027, 3, 4), NOW - timedelta(days=1), "Wet walls.")
    saying = said(last=away)
    assert saying.sentence == (
        "We came on Thursday 4 March and could not treat the site: “Wet walls.” "
        "Fix this, confirm again, then choose a new day."
    )
    assert saying.step.page == "builder:confirm"
    assert said(closed=True).sentence == "This site is finished and archived."


def test_a_treated_house_stays_treated_and_says_what_was_found_since():
    visit = VisitFacts("treated", date(2027, 3, 1), REPORT.issued_at - timedelta(days=1))
    saying = said(item(1), last=visit)
    assert saying.sentence == "Treated on Monday 1 March. Found since: 1 thing to fix by 12 March."
    assert saying.turn is Turn.BUILDERS
    looked_at = said(item(1, state="said_fixed"), last=visit)
    assert looked_at.sentence == "Treated on Monday 1 March. We still have to check 1 fix."
    assert said(item(1, state="accepted"), last=visit).sentence == "Treated on Monday 1 March."


def test_a_further_day_for_a_treated_house_speaks_of_that_day():
    visit = VisitFacts("treated", date(2027, 3, 1), REPORT.issued_at - timedelta(days=1))
    asked = said(last=visit, confirmation=CONFIRMED, booking=booking("asked"))
    assert asked.sentence == "Confirmed ready. You asked for a day. We will offer one."


def test_after_a_visit_in_vain_only_a_later_confirmation_speaks_of_ready():
    away = VisitFacts("turned_away", date(2027, 3, 4), NOW - timedelta(hours=3), "Wet walls.")
    before = replace(CONFIRMED, confirmed_at=NOW - timedelta(days=6))
    assert said(last=away, confirmation=before).sentence.startswith("We came on Thursday 4 March")
    again = said(last=away, confirmation=CONFIRMED)
    assert again.sentence.startswith("Confirmed ready until")


def test_a_report_after_a_visit_in_vain_speaks_of_its_items_first():
    away = VisitFacts(
        "turned_away", date(2027, 3, 4), REPORT.issued_at - timedelta(hours=1), "Mud."
    )
    came = " We came on Thursday 4 March and could not treat the site."
    to_fix = said(item(1), last=away).sentence
    assert to_fix.startswith("1 thing to fix by 12 March")
    assert to_fix.endswith(came)
    looked_at = said(item(1, state="said_fixed"), last=away)
    assert looked_at.sentence == f"We still have to check 1 fix.{came}"
    done = said(item(1, state="accepted"), last=away)
    assert done.sentence.startswith("We came on Thursday 4 March")
    assert done.tone == "holds"
    assert done.step.page == "builder:confirm"

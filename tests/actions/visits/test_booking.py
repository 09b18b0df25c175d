"""Asked for, offered, confirmed; then treated, turned away or cancelled."""

from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.reporting.drafts import start_report
from readiness.actions.sites.sites import close_site
from readiness.actions.visits import booking as actions
from readiness.messages import letters
from readiness.messages.calendar_file import calendar_file
from readiness.models import Booking, Message, Paper
from tests.factories import confirm, make_issued, make_site

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)
TODAY, THURSDAY = date(2026, 11, 20), date(2026, 11, 26)
ON_THE_DAY = datetime(2026, 11, 26, 0, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _in_november():
    with clock.at(NOW):
        yield


@pytest.fixture
def ready(applicator, contact, site):
    confirm(contact, make_issued(applicator, site, kinds=()))
    return site


def ask(contact, site, day=THURSDAY, half="morning"):
    return actions.ask_for_booking(contact, site, preferences=[(day, half)])


def test_from_asking_to_treated(applicator, contact, ready):
    asked = ask(contact, ready)
    offered = actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    assert offered == asked
    confirmed = actions.accept_offer(contact, offered)
    assert confirmed.state == "confirmed"
    assert confirmed.confirmation is not None
    with clock.at(ON_THE_DAY):
        treated = actions.record_treatment(applicator, confirmed, used_ml=6200, batch_number="B-77")
    assert treated.state == "treated"
    assert Paper.objects.filter(kind=Paper.Kind.TREATMENT, booking=treated).exists()


def test_the_same_offer_sent_twice_is_one_offer(applicator, ready):
    def offer(**more):
        offered = {"day": THURSDAY, "half": "morning", **more}
        return actions.offer_date(applicator, ready, **offered)

    assert offer() == offer()
    assert ready.record.filter(verb="booking_offered").count() == 1
    offer(note="We come at seven.")
    assert ready.record.filter(verb="booking_offered").count() == 2


def test_a_day_may_be_a_year_ahead_and_no_more(applicator, ready):
    monday = NOW + timedelta(days=3)
    last = monday.date() + timedelta(days=366)
    with clock.at(monday):
        assert actions.offer_date(applicator, ready, day=last, half="morning").day == last
        with pytest.raises(Refused, match="more than a year away"):
            actions.offer_date(applicator, ready, day=last + timedelta(days=1), half="morning")


def test_it_can_be_asked_for_early_but_not_confirmed(applicator, contact, site):
    make_issued(applicator, site, kinds=("dirty_brick",))
    ask(contact, site)
    offered = actions.offer_date(applicator, site, day=THURSDAY, half="morning")
    with pytest.raises(Refused) as refused:
        actions.accept_offer(contact, offered)
    assert any(problem.about == "item" for problem in refused.value.problems)
    offered.refresh_from_db()
    assert offered.state == "offered"


def test_asking_again_changes_the_open_request(contact, site):
    first = ask(contact, site)
    again = ask(contact, site, half="afternoon")
    assert again == first
    assert Booking.objects.count() == 1
    assert again.preferences == [{"date": "2026-11-26", "half": "afternoon"}]


@pytest.mark.parametrize(
    ("day", "why"),
    [
        (date(2026, 11, 19), "has passed"),
        (date(9999, 12, 31), "is more than a year away"),
        (date(2026, 11, 22), "is a Sunday"),
        (date(2026, 12, 25), "public holiday in NSW"),
        # Boxing Day 2026 is a Saturday: the Monday after is its substitute day.
        (date(2026, 12, 28), "public holiday in NSW"),
    ],
)
def test_days_that_nobody_works_are_refused(contact, site, day, why):
    with pytest.raises(Refused, match=why):
        ask(contact, site, day=day)


def test_nothing_is_started_on_a_site_that_is_archived(applicator, site):
    close_site(applicator, site)
    for start in (
        lambda: actions.offer_date(applicator, site, day=THURSDAY, half="morning"),
        lambda: start_report(applicator, site, visited_on=TODAY),
    ):
        with pytest.raises(Refused, match="archived"):
            start()


def test_the_builder_turns_an_offer_down_and_the_request_stays(applicator, contact, ready):
    ask(contact, ready)
    offered = actions.offer_date(applicator, ready, day=THURSDAY, half="afternoon")
    declined = actions.decline_offer(contact, offered, note="Tiler is in that day.")
    assert declined.state == "asked"
    assert declined.day is None


def test_a_confirmed_day_is_cancelled_with_a_reason(applicator, contact, ready):
    offered = actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    confirmed = actions.accept_offer(contact, offered)
    with pytest.raises(Refused, match="Say why"):
        actions.cancel_booking(contact, confirmed)
    actions.cancel_booking(contact, confirmed, reason="Rain forecast.")
    assert ask(contact, ready).state == "asked"


def test_turned_away_on_the_day_says_what_was_not_ready(applicator, contact, ready):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    with pytest.raises(Refused, match="what was not ready"):
        actions.turn_away(applicator, confirmed, reason="")
    with clock.at(ON_THE_DAY):
        turned = actions.turn_away(applicator, confirmed, reason="Soil back.")
    assert turned.state == "turned_away"


def test_its_e_mail_names_days_with_nothing_booked(applicator, contact, builder, ready):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    other = make_site(builder, street="5 Tallowood Way")
    monday = date(2026, 11, 30)
    actions.offer_date(applicator, other, day=monday, half="afternoon")
    with clock.at(ON_THE_DAY):
        actions.turn_away(applicator, confirmed, reason="Soil back.")
        words = letters.write(Message.objects.filter(kind="booking_turned_away").first())
    # Friday 27, then Tuesday and Wednesday: something is offered on the Monday.
    assert words.points == [
        "Nothing is booked yet on Friday 27 November, Tuesday 1 December and Wednesday 2 December."
    ]


def test_nothing_is_written_down_about_a_day_that_is_still_to_come(applicator, contact, ready):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    # 12:59 UTC is still Wednesday 25 November in Sydney (UTC+11); one minute later is Thursday.
    eve = datetime(2026, 11, 25, 12, 59, tzinfo=UTC)
    said = "booked for Thursday 26 November, which is still to come.*put that day off"
    with clock.at(eve):
        with pytest.raises(Refused, match=said):
            actions.record_treatment(applicator, confirmed, used_ml=6200)
        with pytest.raises(Refused, match=said):
            actions.turn_away(applicator, confirmed, reason="Soil back.")
    with clock.at(eve + timedelta(minutes=1)):
        treated = actions.record_treatment(applicator, confirmed, used_ml=6200)
    assert treated.state == "treated"


def test_to_go_earlier_the_booking_is_changed_first(applicator, contact, ready):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    actions.cancel_booking(applicator, confirmed, reason="We can come today.")
    earlier = actions.offer_date(applicator, ready, day=TODAY, half="afternoon")
    actions.accept_offer(contact, earlier)
    assert actions.record_treatment(applicator, earlier, used_ml=6200).day == TODAY


@pytest.mark.parametrize("used_ml", [1, 1_000_000])
def test_a_drop_and_a_thousand_litres_are_believed(applicator, contact, ready, used_ml):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    with clock.at(ON_THE_DAY):
        assert actions.record_treatment(applicator, confirmed, used_ml=used_ml).used_ml == used_ml


@pytest.mark.parametrize("used_ml", [0, 1_000_001])
def test_litres_nobody_would_believe_are_refused(applicator, contact, ready, used_ml):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    with clock.at(ON_THE_DAY), pytest.raises(Refused, match=r"from 0\.001 L to 1000 L"):
        actions.record_treatment(applicator, confirmed, used_ml=used_ml)


def test_both_sides_get_the_day_for_their_calendar(applicator, contact, ready):
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    to = set(Message.objects.filter(kind="booking_confirmed").values_list("to", flat=True))
    assert to == {applicator.pk, contact.pk}
    # RFC 5545, read back with an independent parser's model of it.
    file = calendar_file(confirmed)
    event = Calendar.from_ical(file.content).events[0]
    assert event.start.isoformat() == "2026-11-26T07:00:00+11:00"
    assert str(event["location"]) == ready.address
    assert file.content_type == "text/calendar; method=PUBLISH; charset=utf-8"


def test_a_cancelled_day_is_taken_out_of_the_calendars_of_all(applicator, contact, ready):
    """RFC 5546, 3.2.5: the same UID, a higher SEQUENCE, STATUS:CANCELLED, METHOD:CANCEL."""
    confirmed = actions.accept_offer(
        contact, actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    )
    before = Calendar.from_ical(calendar_file(confirmed).content)
    cancelled = actions.cancel_booking(contact, confirmed, reason="Scaffold is late.")
    to = set(Message.objects.filter(kind="booking_cancelled").values_list("to", flat=True))
    assert to == {applicator.pk, contact.pk}
    file = calendar_file(cancelled)
    after = Calendar.from_ical(file.content)
    assert after["method"] == file.method == "CANCEL"
    assert before["method"] == "PUBLISH"
    (was,), (now,) = before.events, after.events
    assert now["uid"] == was["uid"]
    assert now["sequence"] > was["sequence"]
    assert now["status"] == "CANCELLED"
    assert now.start == was.start


def test_a_request_that_is_cancelled_was_in_no_calendar(applicator, contact, ready):
    offered = actions.offer_date(applicator, ready, day=THURSDAY, half="morning")
    actions.cancel_booking(contact, offered)
    message = Message.objects.get(kind="booking_cancelled")
    assert message.to == applicator
    assert letters.write(message).calendar is None


@pytest.mark.parametrize("day", [THURSDAY - timedelta(days=7), THURSDAY + timedelta(days=3)])
def test_a_day_that_is_past_or_a_sunday_is_not_offered(applicator, ready, day):
    with pytest.raises(Refused, match=r"has passed|is a Sunday"):
        actions.offer_date(applicator, ready, day=day, half="morning")
    assert not ready.bookings.exists()


def test_asking_for_another_day_lets_go_of_no_offer_that_was_not_seen(applicator, contact, ready):
    seen = actions.offer_date(applicator, ready, day=THURSDAY, half="morning").offer
    actions.offer_date(applicator, ready, day=THURSDAY, half="afternoon")
    with pytest.raises(Refused, match="Check it first"):
        actions.ask_for_booking(contact, ready, preferences=[(THURSDAY, "morning")], seen=seen)
    assert ready.bookings.get().state == "offered"

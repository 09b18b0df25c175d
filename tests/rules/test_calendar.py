"""Working days against days that can be checked by hand."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.calendar import (
    Calendar,
    Coming,
    UnknownStateError,
    calendar_of,
    due_date,
    zone_of,
)
from readiness.rules.days_off import DayOff, Repeats
from readiness.rules.defects.catalogue import STATES

days = st.dates(date(2024, 1, 1), date(2032, 12, 31))
states = st.sampled_from(sorted(STATES))


def easter(year: int) -> date:
    """Western Easter by Meeus's rule (the anonymous Gregorian algorithm)."""
    a, b, c = year % 19, year // 100, year % 100
    d, e = b // 4, b % 4
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = c // 4, c % 4
    length = (32 + 2 * e + 2 * i - h - k) % 7
    m = (a + 11 * h + 22 * length) // 451
    month, day = divmod(h + length - 7 * m + 114, 31)
    return date(year, month, day + 1)


def test_easter_itself_by_gauss_and_meeus():
    # Gauss/Meeus: 2026-04-05 and 2027-03-28
    assert easter(2026) == date(2026, 4, 5)
    assert easter(2027) == date(2027, 3, 28)


@pytest.mark.parametrize("year", range(2025, 2035))
@pytest.mark.parametrize("state", STATES)
def test_good_friday_and_easter_monday_are_no_working_days_anywhere(state, year):
    sunday = easter(year)
    calendar = Calendar(state)
    assert not calendar.is_working_day(sunday - timedelta(days=2))
    assert not calendar.is_working_day(sunday + timedelta(days=1))


def test_anzac_day_on_a_saturday_gives_western_australia_a_monday():
    # from memory: Public and Bank Holidays Act 1972 (WA): a substitute on the Monday
    assert date(2026, 4, 25).weekday() == 5
    assert not Calendar("WA").is_working_day(date(2026, 4, 27))
    assert Calendar("VIC").is_working_day(date(2026, 4, 27))


def test_boxing_day_on_a_saturday_is_made_up_for_on_the_monday():
    # 26 December 2026 is a Saturday; New South Wales has the Monday after it off
    # (from memory: Public Holidays Act 2010 (NSW), section 4)
    assert not Calendar("NSW").is_working_day(date(2026, 12, 28))


def test_state_holidays_differ():
    cup_day = date(2026, 11, 3)  # first Tuesday of November: Melbourne Cup
    assert not Calendar("VIC").is_working_day(cup_day)
    assert Calendar("QLD").is_working_day(cup_day)


BRISBANE_SHOW = DayOff(
    "Brisbane show day", Repeats.WEEKDAY, nth=2, weekday=2, month=8, postcodes=(("4000", "4179"),)
)
CHRISTMAS = DayOff("Christmas shut-down", Repeats.YEARLY, date(2026, 12, 21), date(2027, 1, 8))


def test_a_show_day_of_one_place_is_a_working_day_of_the_state():
    # common practice (no source): second Wednesday of August, in the Brisbane council area only
    show_day = date(2026, 8, 12)
    assert Calendar("QLD").holiday_name(show_day) is None
    assert Calendar("QLD").is_working_day(show_day)


@pytest.mark.parametrize("state", STATES)
def test_no_state_has_a_show_day_for_all_of_it(state):
    calendar = calendar_of(state)
    names = [
        calendar.holiday_name(date(year, 1, 1) + timedelta(days=n)) or ""
        for year in range(2024, 2031)
        for n in range(365)
    ]
    assert any(names)
    assert not [name for name in names if "show" in name.lower()]


def test_a_show_day_of_the_list_is_a_day_off_where_its_postcodes_are():
    show_day = date(2026, 8, 12)
    assert BRISBANE_SHOW.holds_at("4000")
    assert not BRISBANE_SHOW.holds_at("4870")  # Cairns
    brisbane = Calendar("QLD", [BRISBANE_SHOW])
    assert brisbane.day_off_name(show_day) == "Brisbane show day"
    assert not brisbane.is_working_day(show_day)
    # Monday 17 August: Friday 14, Thursday 13, then the show day is left out
    assert due_date(date(2026, 8, 17), brisbane, 3) == date(2026, 8, 11)
    assert due_date(date(2026, 8, 17), Calendar("QLD"), 3) == date(2026, 8, 12)


def test_a_due_date_is_never_in_the_shut_down():
    closed = Calendar("NSW", [CHRISTMAS])
    # Monday 11 January 2027: Friday 18 December is the working day before it
    assert due_date(date(2027, 1, 11), closed, 1) == date(2026, 12, 18)
    assert closed.add_working_days(date(2026, 12, 18), 1) == date(2027, 1, 11)
    assert closed.day_off_name(date(2027, 1, 4)) == "Christmas shut-down"


def test_the_days_to_choose_from_say_why_some_of_them_are_off():
    # Good Friday is 3 April 2026, Easter Monday 6 April; weekends are not shown
    days = calendar_of("QLD").coming(date(2026, 4, 1), 2)
    assert days == [
        Coming(date(2026, 4, 2), date(2026, 4, 2)),
        Coming(date(2026, 4, 3), date(2026, 4, 3), "Good Friday"),
        Coming(date(2026, 4, 6), date(2026, 4, 6), "Easter Monday"),
        Coming(date(2026, 4, 7), date(2026, 4, 7)),
    ]


def test_a_shut_down_is_one_among_the_days_to_choose_from():
    # Christmas Day, the made-up Boxing Day and New Year's Day are part of it
    days = Calendar("NSW", [CHRISTMAS]).coming(date(2026, 12, 17), 2)
    assert days == [
        Coming(date(2026, 12, 18), date(2026, 12, 18)),
        Coming(date(2026, 12, 21), date(2027, 1, 8), "Christmas shut-down", is_own=True),
        Coming(date(2027, 1, 11), date(2027, 1, 11)),
    ]


def test_names_are_spelled_as_here():
    # Queensland has Labour Day on the first Monday of May (from memory)
    assert calendar_of("QLD").holiday_name(date(2026, 5, 4)) == "Labour Day"


def test_two_working_days_before_the_tuesday_after_easter_skip_the_long_weekend():
    # Tuesday 7 April 2026: Thursday 2 is one working day before, Wednesday 1 two
    assert due_date(date(2026, 4, 7), calendar_of("NSW"), 2) == date(2026, 4, 1)


def test_no_days_before_a_sunday_is_the_friday():
    assert due_date(date(2026, 3, 15), calendar_of("NSW"), 0) == date(2026, 3, 13)


@given(days, states, st.integers(-15, 15))
def test_counting_working_days_agrees_with_walking_the_calendar(day, state, count):
    calendar = calendar_of(state)
    end = calendar.add_working_days(day, count)
    assert calendar.is_working_day(end)
    if count > 0:
        assert calendar.working_days_between(day, end) == count
    if count < 0:
        between = [day - timedelta(days=n) for n in range(1, (day - end).days + 1)]
        assert sum(map(calendar.is_working_day, between)) == -count


@given(days, states, st.integers(0, 10))
def test_a_due_date_is_never_after_the_treatment(day, state, count):
    calendar = Calendar(state, [BRISBANE_SHOW, CHRISTMAS])
    assert due_date(day, calendar, count) <= day
    earlier = due_date(day, calendar, count + 1)
    assert earlier <= due_date(day, calendar, count)
    if calendar.is_working_day(day):
        assert earlier < due_date(day, calendar, count)


def test_an_unknown_state_names_the_known_ones():
    with pytest.raises(UnknownStateError, match="ACT, NSW"):
        Calendar("XX")
    with pytest.raises(UnknownStateError):
        zone_of("XX")

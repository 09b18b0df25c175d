"""Days off that a business keeps, against calendars that can be looked up by hand."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.days_off import (
    DayOff,
    PostcodeError,
    Repeats,
    nth_weekday,
    postcode_words,
    read_postcodes,
    too_many,
)

NEW_YEAR = DayOff("Shut-down", Repeats.YEARLY, date(2026, 12, 21), date(2027, 1, 8))


def on(entry, start, end):
    """Which of the days from `start` to `end` are off."""
    days = ((start + timedelta(days=n)) for n in range((end - start).days + 1))
    return [day for day in days if entry.is_on(day)]


@pytest.mark.parametrize(
    ("rule", "day"),
    [
        # by hand from a calendar of 2026: August begins on a Saturday
        ((2026, 8, 2, 2), date(2026, 8, 12)),
        # July 2026 begins on a Wednesday: its Fridays are 3, 10, 17, 24, 31
        ((2026, 7, 4, 4), date(2026, 7, 24)),
        ((2026, 7, 4, 5), date(2026, 7, 31)),
        # February 2026 has four Mondays, the last on the 23rd
        ((2026, 2, 0, 5), date(2026, 2, 23)),
        ((2026, 2, 6, 1), date(2026, 2, 1)),
    ],
)
def test_a_weekday_of_a_month(rule, day):
    assert nth_weekday(*rule) == day


@given(st.integers(2000, 2100), st.integers(1, 12), st.integers(0, 6), st.integers(1, 5))
def test_a_weekday_of_a_month_by_counting(year, month, weekday, nth):
    days = [date(year, month, 1) + timedelta(days=n) for n in range(31)]
    found = [day for day in days if day.month == month and day.weekday() == weekday]
    assert nth_weekday(year, month, weekday, nth) == (found[-1] if nth == 5 else found[nth - 1])


def test_a_stretch_of_one_year_is_over_then():
    once = DayOff("Show", Repeats.ONCE, date(2026, 8, 28), date(2026, 8, 28))
    assert on(once, date(2026, 1, 1), date(2028, 12, 31)) == [date(2026, 8, 28)]
    assert once.next_stretch(date(2026, 8, 28)) == (date(2026, 8, 28), date(2026, 8, 28))
    assert once.next_stretch(date(2026, 8, 29)) is None


def test_a_shut_down_over_new_year_comes_back_every_year_and_not_before():
    assert on(NEW_YEAR, date(2025, 1, 1), date(2026, 12, 20)) == []
    days = on(NEW_YEAR, date(2027, 6, 1), date(2028, 6, 1))
    assert (days[0], days[-1], len(days)) == (date(2027, 12, 21), date(2028, 1, 8), 19)
    assert NEW_YEAR.next_stretch(date(2027, 1, 8)) == (date(2026, 12, 21), date(2027, 1, 8))
    assert NEW_YEAR.next_stretch(date(2027, 1, 9)) == (date(2027, 12, 21), date(2028, 1, 8))


def test_the_29th_of_february_is_the_28th_where_there_is_none():
    leap = DayOff("Leap", Repeats.YEARLY, date(2028, 2, 29), date(2028, 2, 29))
    assert on(leap, date(2029, 2, 1), date(2029, 3, 31)) == [date(2029, 2, 28)]


def test_postcodes_are_read_as_people_type_them():
    assert read_postcodes(" 4205 4000 - 4179,4205; 0800") == (
        ("0800", "0800"), ("4000", "4179"), ("4205", "4205"),
    )  # fmt: skip
    assert read_postcodes(" ") == ()
    assert postcode_words(read_postcodes("4205, 4000–4179")) == "4000-4179, 4205"


@pytest.mark.parametrize(
    ("typed", "part"),
    [("4000, 41", "41"), ("4179-4000", "4179-4000"), ("Brisbane", "Brisbane"), ("40000", "40000")],
)
def test_what_is_no_postcode_is_named(typed, part):
    with pytest.raises(PostcodeError) as refused:
        read_postcodes(typed)
    assert refused.value.part == part


def test_a_site_without_postcode_has_only_what_holds_everywhere():
    here = DayOff("Show", Repeats.WEEKDAY, nth=1, weekday=0, month=1, postcodes=(("0800", "0899"),))
    assert [here.holds_at(code) for code in ("0800", " 0899 ", "0900", "", "800")] == [
        True, True, False, False, False,
    ]  # fmt: skip
    assert NEW_YEAR.holds_at("")


def test_days_off_that_leave_hardly_a_working_day_are_too_many():
    months = [
        DayOff("Off", Repeats.YEARLY, date(2026, 2 * n + 1, 1), date(2026, 2 * n + 2, 28))
        for n in range(6)
    ]
    assert too_many([NEW_YEAR, *months[:3]], 2026) is None
    assert too_many(months, 2026) == 2026
    once = [
        DayOff(
            "Off", Repeats.ONCE, entry.first_on.replace(year=2030), entry.last_on.replace(year=2030)
        )
        for entry in months
    ]
    assert too_many(once, 2026) == 2030

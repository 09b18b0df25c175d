"""One form of each day and time, for everything that is read."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.utils import translation
from hypothesis import example, given
from hypothesis import strategies as st

from readiness.wording import dates

TEN_PAST_THREE = datetime(2026, 3, 12, 15, 10, 5, tzinfo=ZoneInfo("Australia/Brisbane"))
YEAR = [date(2026, 1, 1) + timedelta(days=count) for count in range(365)]
ADELAIDE = ZoneInfo("Australia/Adelaide")
MOMENTS = st.datetimes(datetime(1970, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)).map(
    lambda moment: moment.astimezone(ADELAIDE)
)
CLOCKS_GO_BACK = datetime(2026, 4, 4, 16, 45, tzinfo=UTC).astimezone(ADELAIDE)


@pytest.mark.parametrize(
    ("say", "words"),
    [  # common practice (no source): how Australians write days and times
        (dates.day, "Thu 12 March 2026"),
        (dates.long_day, "Thursday 12 March"),
        (dates.full_day, "Thursday 12 March 2026"),
        (dates.short_day, "Thu 12 Mar"),
        (dates.day_of_month, "12 March"),
        (dates.full_date, "12 March 2026"),
        (dates.short_date, "12 Mar 2026"),
        (dates.time_of_day, "3:10 pm"),
        (dates.moment, "3:10 pm on Thu 12 March 2026"),
        (dates.date_and_time, "12 March 2026 at 15:10"),
        (dates.exact, "12 Mar 2026, 15:10:05 (UTC+10:00)"),
    ],
)
def test_each_is_said_in_one_way(say, words):
    assert say(TEN_PAST_THREE) == words


@pytest.mark.parametrize(
    ("hour", "words"), [(0, "12:05 am"), (10, "10:05 am"), (12, "12:05 pm"), (23, "11:05 pm")]
)
def test_midnight_and_noon_are_twelve(hour, words):
    assert dates.time_of_day(datetime(2026, 3, 12, hour, 5, tzinfo=UTC)) == words


def test_names_are_those_that_papers_were_printed_with():
    """C's English names, by which earlier versions made papers that have to come out the same."""
    for day in YEAR:
        assert dates.day(day) == f"{day:%a} {day.day} {day:%B %Y}"
        assert dates.short_date(day) == f"{day.day} {day:%b %Y}"
        assert dates.short_day(day) == f"{day:%a} {day.day} {day:%b}"
        assert dates.long_day(day) == f"{day:%A} {day.day} {day:%B}"


@given(MOMENTS)
@example(CLOCKS_GO_BACK)
def test_an_exact_moment_can_be_read_back(moment):
    text = dates.exact(moment).replace("UTC", "")
    read = datetime.strptime(text, "%d %b %Y, %H:%M:%S (%z)")
    assert read.astimezone(UTC) == moment.astimezone(UTC).replace(microsecond=0)


def test_names_come_from_the_language_in_use():
    with translation.override("de"):
        assert dates.full_date(TEN_PAST_THREE) == "12 März 2026"

"""Days off that a business keeps beside the public holidays: show days and its own shut-downs.

A day off is a stretch of days in one year, the same stretch every year, or a weekday of a month
every year ("second Wednesday of August"). It holds everywhere, or at some postcodes only.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

LONGEST = 60
"""Days of one stretch: longer is a slip of the year, or no shut-down any more."""

FURTHEST_YEARS = 5
"""Years ahead that a date may lie: further is a slip of the year."""

MOST_A_YEAR = 150
"""Weekdays of a year that all entries together may take, wherever they hold."""

FIFTH_IS_LAST = 5


class Repeats(StrEnum):
    """How often a day off comes. Stored: none ever changes."""

    ONCE = "once"
    YEARLY = "yearly"
    WEEKDAY = "weekday"


class DayOffProblem(StrEnum):
    """Why an entry can't be kept. What it says is `readiness.wording.refusals.firm`'s."""

    NO_NAME = "no_name"
    NO_FIRST_DAY = "no_first_day"
    NO_WEEKDAY = "no_weekday"
    LAST_BEFORE_FIRST = "last_before_first"
    TOO_LONG = "too_long"
    PASSED = "passed"
    TOO_FAR_AHEAD = "too_far_ahead"


class PostcodeError(ValueError):
    """A part of what was typed is no postcode, nor a range of them; `part` is as typed."""

    def __init__(self, part: str):
        super().__init__(part)
        self.part = part


PostcodeRange = tuple[str, str]
"""First and last, four digits each, both included."""

_ONE = re.compile(r"(\d{4})(?:\s*[-–]\s*(\d{4}))?")


def read_postcodes(typed: str) -> tuple[PostcodeRange, ...]:
    """Postcodes and ranges as typed ("4000-4179, 4205"), in order; PostcodeError for others."""
    joined = re.sub(r"\s*[-–]\s*", "-", typed)
    found = set()
    for part in filter(None, re.split(r"[\s,;]+", joined)):
        read = _ONE.fullmatch(part)
        if read is None or (read[2] and read[2] < read[1]):
            raise PostcodeError(part)
        found.add((read[1], read[2] or read[1]))
    return tuple(sorted(found))


def postcode_words(ranges: Iterable[PostcodeRange]) -> str:
    """The same as text that `read_postcodes` reads: "4000-4179, 4205"."""
    return ", ".join(low if low == high else f"{low}-{high}" for low, high in ranges)


@dataclass(frozen=True)
class DayOff:
    """One entry of the list.

    Once or yearly: from `first_on` to `last_on`, both off; yearly in each year from the first on. A
    weekday: the `nth` (1 to 4, 5 for the last) `weekday` (Monday 0) of `month`.
    """

    name: str
    repeats: Repeats
    first_on: date | None = None
    last_on: date | None = None
    nth: int = 0
    weekday: int = 0
    month: int = 0
    postcodes: tuple[PostcodeRange, ...] = ()

    def problem(self, today: date) -> DayOffProblem | None:
        """Why it can't be kept, the first thing that has to be put right; None if it can."""
        if not self.name.strip():
            return DayOffProblem.NO_NAME
        if self.repeats == Repeats.WEEKDAY:
            known = 1 <= self.nth <= 5 and 0 <= self.weekday <= 6 and 1 <= self.month <= 12
            return None if known else DayOffProblem.NO_WEEKDAY
        if self.first_on is None or self.last_on is None:
            return DayOffProblem.NO_FIRST_DAY
        if self.last_on < self.first_on:
            return DayOffProblem.LAST_BEFORE_FIRST
        if (self.last_on - self.first_on).days >= LONGEST:
            return DayOffProblem.TOO_LONG
        if self.first_on.year > today.year + FURTHEST_YEARS:
            return DayOffProblem.TOO_FAR_AHEAD
        if self.repeats == Repeats.ONCE and self.last_on < today:
            return DayOffProblem.PASSED
        return None

    def holds_at(self, postcode: str) -> bool:
        """Whether it holds for a site; where a site's postcode is not known, only what holds
        everywhere does.
        """
        if not self.postcodes:
            return True
        code = postcode.strip()
        return len(code) == 4 and any(low <= code <= high for low, high in self.postcodes)

    def stretch(self, year: int) -> tuple[date, date] | None:
        """First and last day of the stretch that begins in this year; None if none does."""
        if self.repeats == Repeats.WEEKDAY:
            day = nth_weekday(year, self.month, self.weekday, self.nth)
            return day, day
        if self.first_on is None or self.last_on is None:
            return None
        if self.repeats == Repeats.ONCE:
            return (self.first_on, self.last_on) if self.first_on.year == year else None
        if year < self.first_on.year:
            return None
        years = year - self.first_on.year
        return _years_on(self.first_on, years), _years_on(self.last_on, years)

    def is_on(self, day: date) -> bool:
        """Whether that day is off; a stretch may have begun in the year before."""
        stretches = (self.stretch(year) for year in (day.year, day.year - 1))
        return any(found and found[0] <= day <= found[1] for found in stretches)

    def next_stretch(self, today: date) -> tuple[date, date] | None:
        """The stretch that is on today or comes next; None if it is over for good."""
        years = range(today.year - 1, today.year + 12)
        found = (self.stretch(year) for year in years)
        return next((one for one in found if one and one[1] >= today), None)


def nth_weekday(year: int, month: int, weekday: int, nth: int) -> date:
    """The second Wednesday of August and the like; `nth` 5 is the last of the month."""
    first = 1 + (weekday - date(year, month, 1).weekday()) % 7
    day = first + 7 * (nth - 1)
    if nth == FIFTH_IS_LAST and day > monthrange(year, month)[1]:
        day -= 7
    return date(year, month, day)


def _years_on(day: date, years: int) -> date:
    """The same day so many years on; 29 February is the 28th where there is none."""
    year = day.year + years
    return date(year, day.month, min(day.day, monthrange(year, day.month)[1]))


def too_many(days_off: Iterable[DayOff], this_year: int) -> int | None:
    """The first year whose weekdays are mostly off, wherever that is; None if there is none.

    Counting back over working days has to come to an end.
    """
    kept = tuple(days_off)
    ends = [entry.last_on.year for entry in kept if entry.last_on]
    for year in range(this_year, max([this_year + 2, *ends]) + 1):
        if sum(1 for _ in _weekdays_off(kept, year)) > MOST_A_YEAR:
            return year
    return None


def _weekdays_off(days_off: tuple[DayOff, ...], year: int) -> Iterator[date]:
    off = set()
    for entry in days_off:
        for found in (entry.stretch(year - 1), entry.stretch(year)):
            if found:
                days = range((found[1] - found[0]).days + 1)
                off |= {found[0] + timedelta(days=n) for n in days}
    return (day for day in off if day.year == year and day.weekday() < 5)

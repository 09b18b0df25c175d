"""Working days in each Australian state and territory, and due dates counted in them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

import holidays

from readiness.rules.days_off import DayOff
from readiness.rules.defects.catalogue import STATES


class UnknownStateError(ValueError):
    """The state's code is not one of the eight."""


# A show day holds for the place of the show alone: the business lists those where it works.
_OF_ONE_PLACE = re.compile(r"\bshow\b", re.IGNORECASE)


@dataclass(frozen=True)
class Coming:
    """A weekday, or weekdays in a row that are off for one reason: `name`, empty for a working day.

    `is_own` tells a day off of the business from a public holiday.
    """

    first: date
    last: date
    name: str = ""
    is_own: bool = False

    def each_day(self) -> Iterator[Coming]:
        """Its weekdays one by one."""
        for n in range((self.last - self.first).days + 1):
            day = self.first + timedelta(days=n)
            if day.weekday() < 5:
                yield replace(self, first=day, last=day)


class Calendar:
    """Working days at a place: Monday to Friday, less the state's public holidays and the days off
    that the business keeps for it.
    """

    def __init__(self, state: str, days_off: Iterable[DayOff] = ()):
        if state not in STATES:
            raise UnknownStateError(
                f"“{state}” is not a state or territory. Use one of {', '.join(STATES)}."
            )
        self.state = state
        self.days_off = tuple(days_off)
        self._holidays = _holidays_of(state)

    @property
    def zone(self) -> str:
        """The IANA time zone of the state."""
        return zone_of(self.state)

    def holiday_name(self, day: date) -> str | None:
        """The public holiday of the whole state on that day, or None."""
        if day not in self._holidays:
            return None
        names = self._holidays.get_list(day)
        said = "; ".join(name for name in names if not _OF_ONE_PLACE.search(name))
        return said.replace("Labor Day", "Labour Day") or None  # as it is spelled here

    def day_off_name(self, day: date) -> str | None:
        """What the business calls its day off on that day, or None."""
        return next((entry.name for entry in self.days_off if entry.is_on(day)), None)

    def is_working_day(self, day: date) -> bool:
        if day.weekday() >= 5 or self.holiday_name(day):
            return False
        return not self.day_off_name(day)

    def add_working_days(self, day: date, count: int) -> date:
        """The day `count` working days after `day` (before it when negative).

        The start is not counted; with 0 it is `day` itself, or the working day before it.
        """
        if count == 0:
            return self.on_or_before(day)
        step = timedelta(days=1 if count > 0 else -1)
        left = abs(count)
        while left:
            day += step
            left -= self.is_working_day(day)
        return day

    def on_or_before(self, day: date) -> date:
        """`day` if it is a working day, else the last one before it."""
        while not self.is_working_day(day):
            day -= timedelta(days=1)
        return day

    def why_off(self, day: date) -> tuple[str, bool] | None:
        """Why a weekday is no working day: what it is called, and whether the business says so.

        A holiday within a shut-down is part of the shut-down.
        """
        if own := self.day_off_name(day):
            return own, True
        holiday = self.holiday_name(day)
        return (holiday, False) if holiday else None

    def coming(self, today: date, count: int) -> list[Coming]:
        """The weekdays after today up to the `count`th working day, with those off in between.

        Days in a row that are off for one reason are one.
        """
        last, found = self.add_working_days(today, count), list[Coming]()
        for day in (today + timedelta(days=n) for n in range(1, (last - today).days + 1)):
            if day.weekday() >= 5:
                continue
            why = self.why_off(day)
            if why and found and (found[-1].name, found[-1].is_own) == why:
                found[-1] = replace(found[-1], last=day)
            else:
                found.append(Coming(day, day, *(why or ("", False))))
        return found

    def working_days_between(self, start: date, end: date) -> int:
        """Working days after `start` up to and including `end`; negative if `end` is before."""
        if end < start:
            return -self.working_days_between(end, start)
        days = (start + timedelta(days=n) for n in range(1, (end - start).days + 1))
        return sum(map(self.is_working_day, days))


@lru_cache(maxsize=len(STATES))
def _holidays_of(state: str) -> holidays.HolidayBase:
    """The state's public holidays, worked out once a year of theirs."""
    return holidays.country_holidays("AU", subdiv=state)


@lru_cache(maxsize=len(STATES))
def calendar_of(state: str) -> Calendar:
    """The state's calendar without days off of the business, made once."""
    return Calendar(state)


def zone_of(state: str) -> str:
    """The IANA time zone of a state; UnknownStateError if there is no such state."""
    try:
        return STATES[state].zone
    except KeyError:
        raise UnknownStateError(f"“{state}” is not a state or territory.") from None


def due_date(treatment_on: date, calendar: Calendar, working_days: int) -> date:
    """The day a fix is due: that many working days before the wanted treatment day."""
    return calendar.add_working_days(treatment_on, -working_days)

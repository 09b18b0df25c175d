"""Working days in each Australian state and territory, and due dates counted in them."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

import holidays

from readiness.rules.defects.catalogue import STATES


class UnknownStateError(ValueError):
    """The state's code is not one of the eight."""


class Calendar:
    """Working days of one state: Monday to Friday, less its public holidays."""

    def __init__(self, state: str):
        if state not in STATES:
            raise UnknownStateError(
                f"“{state}” is not a state or territory. Use one of {', '.join(STATES)}."
            )
        self.state = state
        self._holidays = holidays.country_holidays("AU", subdiv=state)

    @property
    def zone(self) -> str:
        """The IANA time zone of the state."""
        return zone_of(self.state)

    def holiday_name(self, day: date) -> str | None:
        """The public holiday on that day, or None."""
        return self._holidays.get(day)

    def is_working_day(self, day: date) -> bool:
        return day.weekday() < 5 and day not in self._holidays

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

    def working_days_between(self, start: date, end: date) -> int:
        """Working days after `start` up to and including `end`; negative if `end` is before."""
        if end < start:
            return -self.working_days_between(end, start)
        days = (start + timedelta(days=n) for n in range(1, (end - start).days + 1))
        return sum(map(self.is_working_day, days))


@lru_cache(maxsize=len(STATES))
def calendar_of(state: str) -> Calendar:
    """The state's calendar, made once."""
    return Calendar(state)


def zone_of(state: str) -> str:
    """The IANA time zone of a state; UnknownStateError if there is no such state."""
    try:
        return STATES[state].zone
    except KeyError:
        raise UnknownStateError(f"“{state}” is not a state or territory.") from None


def due_date(treatment_on: date, state: str, working_days: int) -> date:
    """The day a fix is due: that many working days before the wanted treatment day."""
    return calendar_of(state).add_working_days(treatment_on, -working_days)

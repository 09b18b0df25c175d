"""When things happen in the scenario: working days and hours at the site, counted from today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from readiness.rules.calendar import calendar_of


@dataclass(frozen=True)
class SiteDates:
    """The days of one site, seen from `now` (aware)."""

    state: str
    now: datetime

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(calendar_of(self.state).zone)

    @property
    def today(self) -> date:
        return self.now.astimezone(self.zone).date()

    def day(self, working_days: int) -> date:
        """The day so many working days after today (before it when negative)."""
        return calendar_of(self.state).add_working_days(self.today, working_days)

    def at(self, working_days: int, clock_time: str) -> datetime:
        """A time of day at the site, such as "9:40"; never later than now."""
        hour, minute = clock_time.split(":")
        there = datetime.combine(self.day(working_days), time(int(hour), int(minute)), self.zone)
        return min(there, self.now)

    def ago(self, hours: float) -> datetime:
        """So many hours before now, whatever the time of day."""
        return self.now - timedelta(hours=hours)

    def offset_at(self, moment: datetime) -> str:
        """The site's offset from UTC as a camera writes it, such as "+10:30"."""
        text = f"{moment.astimezone(self.zone):%z}"
        return f"{text[:3]}:{text[3:]}"

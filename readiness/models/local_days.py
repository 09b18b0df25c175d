"""Each site's own day in one query: in Sydney it is tomorrow hours before it is in Perth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import Q

from readiness.rules.defects.catalogue import STATES

Window = Callable[[date], tuple[date | None, date | None]]
"""From a day that is today to the first and the last day meant; None where there is no such end."""


@dataclass(frozen=True)
class LocalDays:
    """The date at the sites of each state at one moment."""

    states: Mapping[date, tuple[str, ...]]

    @classmethod
    def at(cls, moment: datetime) -> LocalDays:
        """The dates at a moment: most of the time there is one, never more than two."""
        found: dict[date, list[str]] = {}
        for state in STATES.values():
            day = moment.astimezone(ZoneInfo(state.zone)).date()
            found.setdefault(day, []).append(state.code)
        return cls({day: tuple(codes) for day, codes in found.items()})

    def of(self, state: str) -> date:
        """The date in a state."""
        return next(day for day, codes in self.states.items() if state in codes)

    def within(self, field: str, window: Window, site: str = "site") -> Q:
        """Rows whose date lies in the window that their own site's today opens.

        An index on `field` bounds what is read; where the dates differ, the site's state decides.
        """
        windows = {day: window(day) for day in self.states}
        firsts, lasts = zip(*windows.values(), strict=True)
        bounds = _between(
            field,
            None if None in firsts else min(firsts),
            None if None in lasts else max(lasts),
        )
        if len(windows) == 1:
            return bounds
        own = Q()
        for day, codes in self.states.items():
            own |= Q(**{f"{site}__state__in": codes}) & _between(field, *windows[day])
        return bounds & own


def _between(field: str, first: date | None, last: date | None) -> Q:
    asked = {f"{field}__gte": first, f"{field}__lte": last}
    return Q(**{lookup: day for lookup, day in asked.items() if day is not None})

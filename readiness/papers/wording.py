"""Dates, times and texts as papers print them: said the same way everywhere, and only text."""

import re
from datetime import date, datetime
from zoneinfo import ZoneInfo

from readiness.rules.defects.catalogue import STATES
from readiness.wording import dates
from readiness.wording.paper import parts

# Characters that XML can't hold, and invisible ones that turn the direction of what follows.
_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u2028\u2029"
    "\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]"
)
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|m|h|L)\b)")


def clean(value):
    """Any JSON value with every text in it fit for print; nothing else is changed."""
    if isinstance(value, str):
        return _UNPRINTABLE.sub("", value.replace("\r\n", "\n").replace("\r", "\n"))
    if isinstance(value, dict):
        return {key: clean(part) for key, part in value.items()}
    if isinstance(value, list):
        return [clean(part) for part in value]
    return value


def with_units(text: str) -> str:
    """A text whose numbers keep to the line of their unit, as in "1.7 m" and "35 mm"."""
    return _BEFORE_UNIT.sub("\u00a0", text)


def shortened(text: str, most: int) -> str:
    """A text of at most so many letters, cut with an ellipsis."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def zone_of(state: str) -> ZoneInfo:
    """The time zone of an Australian state or territory."""
    return ZoneInfo(STATES[state].zone)


def local_time(state: str) -> str:
    """Whose clock the papers of a site go by: "Queensland time"."""
    return parts.state_time(STATES[state].name)


def moment(value: str | datetime | None) -> datetime | None:
    """A time as the snapshot keeps it (ISO 8601), or None."""
    return datetime.fromisoformat(value) if isinstance(value, str) else value


def day(value: str | date | None) -> str:
    """A day: "Thu 12 March 2026"; nothing for None."""
    if not value:
        return ""
    return dates.day(date.fromisoformat(value) if isinstance(value, str) else value)


def short_day(value: str | date | None) -> str:
    """A day for narrow places: "12 Mar 2026"; nothing for None."""
    if not value:
        return ""
    return dates.short_date(date.fromisoformat(value) if isinstance(value, str) else value)


def clock_words(value: datetime, zone: ZoneInfo) -> str:
    """A time of day: "3:20 pm"."""
    return dates.time_of_day(value.astimezone(zone))


def when(value: str | datetime | None, zone: ZoneInfo) -> str:
    """A moment in the site's zone: "3:20 pm on Thu 12 March 2026"; nothing for None."""
    found = moment(value)
    return "" if found is None else dates.moment(found.astimezone(zone))


def short_when(value: datetime | None, zone: ZoneInfo) -> str:
    """A moment for narrow places: "12 Mar 2026, 3:20 pm"; nothing for None."""
    if value is None:
        return ""
    clock = clock_words(value, zone).replace(" ", "\u00a0")
    return f"{short_day(value.astimezone(zone).date())}, {clock}"


def exact(value: str | datetime | None, zone: ZoneInfo) -> str:
    """A moment as evidence: "12 Mar 2026, 15:20:05 (UTC+10:00)"; nothing for None."""
    found = moment(value)
    return "" if found is None else dates.exact(found.astimezone(zone))


def short_digest(digest: str) -> str:
    """The first half of a SHA-256, 128 bits: a hint at a file, where nobody compares."""
    return digest[:32]


def grouped_digest(digest: str) -> str:
    """A whole SHA-256 in groups of eight, to be read aloud and compared."""
    return " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))

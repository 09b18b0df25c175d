"""What is still to fix, in a few words that count each due date by itself."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from readiness.rules.site.facts import Assessment, SiteFacts
from readiness.rules.words import counted

TO_DO = ("item_to_fix", "item_sent_back")
"""Codes of the reasons that somebody on the builder's side has to fix."""


def left_to_fix(facts: SiteFacts, assessment: Assessment) -> str:
    """What the builder still has to fix on this site, "" for nothing.

    What they disagree with or reported fixed is not among it.
    """
    todo = {reason.item_id: reason.code for reason in assessment.reasons if reason.code in TO_DO}
    items = [item for item in facts.items if item.id in todo]
    fresh = [item.due_on for item in items if todo[item.id] == "item_to_fix"]
    back = [item.due_on for item in items if todo[item.id] == "item_sent_back"]
    return to_fix_words(fresh, back, facts.today)


def to_fix_words(fresh: Sequence[date | None], back: Sequence[date | None], today: date) -> str:
    """ "3 overdue, the oldest since 24 November", "1 due today, 1 sent back (due tomorrow)".

    `fresh` and `back` are the due dates of what is to fix and of what was sent back.
    """
    if not fresh and not back:
        return ""
    if not back and len(set(fresh)) == 1 and (fresh[0] is None or fresh[0] > _tomorrow(today)):
        by = f" by {short_day(fresh[0])}" if fresh[0] else ""
        return f"{counted(len(fresh), 'thing')} to fix{by}"
    parts = [f"{count} {words}" for count, words in _by_day(fresh, today)]
    if back:
        parts.append(_sent_back(back, today))
    return ", ".join(parts)


def _sent_back(days: Sequence[date | None], today: date) -> str:
    found = [(count, words) for count, words in _by_day(days, today) if words != UNDATED]
    text = f"{len(days)} sent back"
    if not found:
        return text
    if len(found) == 1 and found[0][0] == len(days):
        return f"{text} ({found[0][1]})"
    return f"{text} ({', '.join(f'{count} {words}' for count, words in found)})"


UNDATED = "to fix"


def _by_day(days: Iterable[date | None], today: date) -> list[tuple[int, str]]:
    """How many are overdue, due today, tomorrow, on the first day after that, later, undated."""
    dated = sorted(day for day in days if day is not None)
    undated = sum(day is None for day in days)
    late = [day for day in dated if day < today]
    coming = [day for day in dated if day > _tomorrow(today)]
    first = [day for day in coming if day == coming[0]]
    groups = [
        (len(late), _overdue(late)),
        (dated.count(today), "due today"),
        (dated.count(_tomorrow(today)), "due tomorrow"),
        (len(first), f"due by {short_day(first[0])}" if first else ""),
        (len(coming) - len(first), "later"),
        (undated, UNDATED),
    ]
    return [(count, words) for count, words in groups if count]


def _overdue(late: Sequence[date]) -> str:
    if not late:
        return ""
    oldest = f"since {short_day(late[0])}"
    return f"overdue {oldest}" if late[0] == late[-1] else f"overdue, the oldest {oldest}"


def _tomorrow(today: date) -> date:
    return today + timedelta(days=1)


def short_day(day: date) -> str:
    """ "12 March"."""
    return f"{day.day} {day:%B}"

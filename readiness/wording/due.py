"""What is still to fix, in a few words that count each due date by itself; for every reader."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.codes import Code
from readiness.rules.site.assessment import Assessment, SiteFacts
from readiness.wording import dates


def left_to_fix(facts: SiteFacts, assessment: Assessment) -> str:
    """What the builder still has to fix on this site, "" for nothing.

    What they disagree with or reported fixed is not among it.
    """
    todo = {reason.item_id: reason.code for reason in assessment.reasons if reason.code.is_to_do}
    items = [item for item in facts.items if item.id in todo]
    fresh = [item.due_on for item in items if todo[item.id] is Code.ITEM_TO_FIX]
    back = [item.due_on for item in items if todo[item.id] is Code.ITEM_SENT_BACK]
    return to_fix_words(fresh, back, facts.today)


def to_fix_words(fresh: Sequence[date | None], back: Sequence[date | None], today: date) -> str:
    """ "3 overdue, the oldest since 24 November", "1 due today, 1 sent back (due tomorrow)".

    `fresh` and `back` are the due dates of what is to fix and of what was sent back.
    """
    if not fresh and not back:
        return ""
    if _are_all_for_one_day(fresh, back, today):
        return _all_for_one_day(len(fresh), fresh[0])
    parts = [_with_count(count, words) for count, words in _by_day(fresh, today)]
    if back:
        parts.append(_sent_back(back, today))
    return ", ".join(parts)


def to_fix_in_full(fresh: Sequence[date | None], back: Sequence[date | None], today: date) -> str:
    """ "3 things to fix. 2 due today, 1 sent back": the same where no heading tells of what."""
    words, count = to_fix_words(fresh, back, today), len(fresh) + len(back)
    if not count or _are_all_for_one_day(fresh, back, today):
        return words
    return f"{_all_for_one_day(count, None)}. {words}"


def things(count: int) -> str:
    """ "1 thing", "4 things"."""
    return ngettext("%(count)d thing", "%(count)d things", count) % {"count": count}


def _are_all_for_one_day(
    fresh: Sequence[date | None], back: Sequence[date | None], today: date
) -> bool:
    """Nothing was sent back, and all have the same day, or none, which is not near."""
    if back or len(set(fresh)) != 1:
        return False
    return fresh[0] is None or fresh[0] > _tomorrow(today)


def _all_for_one_day(count: int, day: date | None) -> str:
    if day is None:
        return ngettext("%(count)d thing to fix", "%(count)d things to fix", count) % {
            "count": count
        }
    return ngettext(
        "%(count)d thing to fix by %(day)s", "%(count)d things to fix by %(day)s", count
    ) % {"count": count, "day": dates.day_of_month(day)}


def _with_count(count: int, words: str) -> str:
    return _("%(count)d %(how)s") % {"count": count, "how": words}


def _sent_back(days: Sequence[date | None], today: date) -> str:
    found = [(count, words) for count, words in _by_day(days, today) if words != _("to fix")]
    text = _("%(count)d sent back") % {"count": len(days)}
    if not found:
        return text
    if len(found) == 1 and found[0][0] == len(days):
        return f"{text} ({found[0][1]})"
    return f"{text} ({', '.join(_with_count(count, words) for count, words in found)})"


def _by_day(days: Iterable[date | None], today: date) -> list[tuple[int, str]]:
    """How many are overdue, due today, tomorrow, on the first day after that, later, undated."""
    dated = sorted(day for day in days if day is not None)
    undated = sum(day is None for day in days)
    late = [day for day in dated if day < today]
    coming = [day for day in dated if day > _tomorrow(today)]
    first = [day for day in coming if day == coming[0]]
    by_first = _("due by %(day)s") % {"day": dates.day_of_month(first[0])} if first else ""
    groups = [
        (len(late), _overdue(late)),
        (dated.count(today), _("due today")),
        (dated.count(_tomorrow(today)), _("due tomorrow")),
        (len(first), by_first),
        (len(coming) - len(first), _("later")),
        (undated, _("to fix")),
    ]
    return [(count, words) for count, words in groups if count]


def _overdue(late: Sequence[date]) -> str:
    if not late:
        return ""
    day = {"day": dates.day_of_month(late[0])}
    if late[0] == late[-1]:
        return _("overdue since %(day)s") % day
    return _("overdue, the oldest since %(day)s") % day


def _tomorrow(today: date) -> date:
    return today + timedelta(days=1)

"""Runs of like entries in a site's Record, told in one line: "8 photos received"."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import groupby
from zoneinfo import ZoneInfo

from django.utils.translation import ngettext

from readiness.models import RecordEntry
from readiness.models.verbs import Verb

Family = dict[str, Callable[[int], str]]

# Each verb with what one and several of its entries are called. A run is made of verbs of one of
# these, and is told in their order.
_VISIT: Family = {
    Verb.ITEM_ADDED: lambda count: ngettext("%(count)d item added", "%(count)d items added", count),
    Verb.ITEM_CHANGED: lambda count: ngettext(
        "%(count)d change to an item", "%(count)d changes to items", count
    ),
    Verb.ITEM_REMOVED: lambda count: ngettext(
        "%(count)d item removed", "%(count)d items removed", count
    ),
    Verb.RUN_CHECKED: lambda count: ngettext(
        "%(count)d wall checked", "%(count)d walls checked", count
    ),
    Verb.RUN_UNCHECKED: lambda count: ngettext(
        "%(count)d wall check undone", "%(count)d wall checks undone", count
    ),
    Verb.RUN_CHECK_NOTED: lambda count: ngettext(
        "%(count)d note on a wall", "%(count)d notes on walls", count
    ),
    Verb.PHOTO_ADDED: lambda count: ngettext(
        "%(count)d photo received", "%(count)d photos received", count
    ),
    Verb.PHOTO_ATTACHED: lambda count: ngettext(
        "%(count)d photo attached", "%(count)d photos attached", count
    ),
    Verb.PHOTO_MARKED: lambda count: ngettext(
        "%(count)d photo marked up", "%(count)d photos marked up", count
    ),
    Verb.PHOTO_MEASURED: lambda count: ngettext(
        "%(count)d measurement on a photo", "%(count)d measurements on photos", count
    ),
    Verb.PHOTOS_LINED_UP: lambda count: ngettext(
        "%(count)d photo lined up", "%(count)d photos lined up", count
    ),
}
_LEVELS: Family = {
    Verb.LEVELS_CHANGED: lambda count: ngettext(
        "%(count)d change to the levels", "%(count)d changes to the levels", count
    ),
}
_PORTAL: Family = {
    Verb.PAPER_MADE: lambda count: ngettext("%(count)d paper made", "%(count)d papers made", count),
    Verb.MESSAGE_SENT: lambda count: ngettext(
        "%(count)d e-mail sent", "%(count)d e-mails sent", count
    ),
}
_SHARING: Family = {
    Verb.LIST_SHARED: lambda count: ngettext(
        "%(count)d fix list shared", "%(count)d fix lists shared", count
    ),
}

_WORDS = _VISIT | _LEVELS | _PORTAL | _SHARING
_FAMILY = {
    verb: family
    for family, verbs in enumerate((_VISIT, _LEVELS, _PORTAL, _SHARING))
    for verb in verbs
}


@dataclass(frozen=True)
class Run:
    """Entries that follow each other, of one person, one day at the site and one sort.

    `words` says how many of what; it is empty for an entry that stands by itself.
    """

    entries: list[RecordEntry]
    words: str


def runs_of(entries: Iterable[RecordEntry], zone: ZoneInfo) -> list[Run]:
    """The entries in their order, like ones together. `zone` is the site's."""

    def sort_of(entry):
        family = _FAMILY.get(entry.verb)
        alone = entry.sequence if family is None else None
        return family, alone, entry.actor_id, entry.at.astimezone(zone).date()

    runs = (list(run) for _, run in groupby(entries, key=sort_of))
    return [Run(run, _words(run) if len(run) > 1 else "") for run in runs]


def _words(run: list[RecordEntry]) -> str:
    """Such as "8 items added, 10 walls checked, 8 photos received"."""
    counts = Counter(entry.verb for entry in run)
    if counts[Verb.PHOTO_ADDED]:
        del counts[Verb.PHOTO_ATTACHED]  # a photo is received to be attached: not news twice
    told = ((words, counts[verb]) for verb, words in _WORDS.items() if counts[verb])
    return ", ".join(words(count) % {"count": count} for words, count in told)

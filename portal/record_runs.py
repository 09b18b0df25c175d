"""Runs of like entries in a site's Record, told in one line: "8 photos received"."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from zoneinfo import ZoneInfo

from readiness.models import RecordEntry
from readiness.rules.words import counted

# Each: the verb, then what one and several of its entries are called. A run is made of verbs of
# one of these, and is told in their order.
_VISIT = {
    "item_added": ("item added", "items added"),
    "item_changed": ("change to an item", "changes to items"),
    "item_removed": ("item removed", "items removed"),
    "run_checked": ("wall checked", "walls checked"),
    "run_unchecked": ("check of a wall taken back", "checks of walls taken back"),
    "run_check_noted": ("note on a wall", "notes on walls"),
    "photo_added": ("photo received", "photos received"),
    "photo_attached": ("photo attached", "photos attached"),
    "photo_marked": ("photo marked up", "photos marked up"),
    "photo_measured": ("measurement on a photo", "measurements on photos"),
}
_LEVELS = {"levels_changed": ("change to the levels", "changes to the levels")}
_PORTAL = {
    "paper_made": ("paper made", "papers made"),
    "message_sent": ("e-mail sent", "e-mails sent"),
}
_SHARING = {"list_shared": ("fix list shared", "fix lists shared")}

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


@dataclass(frozen=True)
class Fold:
    """Lines that are shown as one until they are opened; `words` is empty for a single line."""

    words: str
    lines: list

    @property
    def newest(self):
        return self.lines[0]

    @property
    def oldest(self):
        return self.lines[-1]


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
    if counts["photo_added"]:
        del counts["photo_attached"]  # a photo is received to be attached: not news twice
    return ", ".join(
        counted(counts[verb], one, many) for verb, (one, many) in _WORDS.items() if counts[verb]
    )

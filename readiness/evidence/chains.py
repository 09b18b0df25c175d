"""Reading chains of entries: whether each follows the one before, and what it says of rows last."""

import hashlib
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from functools import reduce
from itertools import groupby
from operator import itemgetter, or_
from typing import Any
from uuid import UUID

from django.db.models import Min, Q, QuerySet

from readiness.evidence.breaks import Break
from readiness.models import RecordEntry, Said
from readiness.models.record import CLOCK_SET_BACK, GENESIS, canonical_of
from readiness.models.verbs import Verb

ENTRIES_READ = 2000
COLUMNS = (
    "site_id", "sequence", "at", "actor_id", "verb", "data", "rows", "previous_digest", "digest",
    "pk",
)  # fmt: skip


@dataclass(slots=True)
class Entry:
    """The columns of an entry, without the cost of a model's object."""

    site_id: UUID | None
    sequence: int
    at: datetime
    actor_id: UUID | None
    verb: str
    data: dict
    rows: dict
    previous_digest: str
    digest: str
    pk: int


@dataclass(frozen=True, slots=True)
class LastWord:
    """What the Record says of a row last: its digest, or None of one that was deleted."""

    digest: str | None
    sequence: int
    at: datetime


@dataclass
class Chain:
    """One chain as far as it holds. A chain that is not `whole` was read from the middle on."""

    whole: bool = True
    count: int = 0
    first_break: Break | None = None
    rows: dict[str, LastWord] = field(default_factory=dict)
    said: dict[int, dict[str, str]] = field(default_factory=dict)
    """The digests of texts, by the entry's key."""

    def follow(self, entries: Iterable[Entry]) -> None:
        """Read the entries in their order, up to the first that does not hold."""
        previous, expected = (GENESIS, 1) if self.whole else (None, None)
        at = None
        for entry in entries:
            wrong = _wrong_with(entry, previous, expected, at, bool(self.rows))
            if wrong:
                self.first_break = Break(wrong, entry=entry.sequence, at=entry.at)
                return
            previous, expected, self.count = entry.digest, entry.sequence + 1, self.count + 1
            if entry.rows:
                at = entry.at
                word = (entry.sequence, entry.at)
                for row, digest in entry.rows.items():
                    self.rows[row] = LastWord(digest, *word)
            if "said" in entry.data:
                self.said[entry.pk] = entry.data["said"]


def _wrong_with(
    entry: Entry, previous: str | None, expected: int | None, at: datetime | None, begun: bool
) -> str:
    if expected is not None and entry.sequence != expected:
        return f"entry {expected} is missing; the next one kept is {entry.sequence}."
    if previous is not None and entry.previous_digest != previous:
        return f"entry {entry.sequence} does not follow the entry before it."
    if entry.digest != hashlib.sha256(canonical_of(entry)).hexdigest():
        return f"entry {entry.sequence} was changed: its digest does not match."
    if at is not None and entry.at < at and not entry.data.get(CLOCK_SET_BACK):
        return f"entry {entry.sequence} is dated before the entry before it."
    if begun and entry.verb == Verb.DIGESTS_BEGUN:
        return f"entry {entry.sequence} begins a second time to hold rows by their digests."
    return ""


def chains_of(site_ids: Collection[UUID | None], since: datetime | None = None) -> dict:
    """The chains of these sites (None is the business's own) that have entries, by site."""
    entries = _entries(site_ids, since).order_by("site", "sequence").values_list(*COLUMNS)
    found: dict[UUID | None, Chain] = {}
    rows: Iterator[Any] = entries.iterator(chunk_size=ENTRIES_READ)
    for site_id, of_site in groupby(rows, key=itemgetter(0)):
        chain = found[site_id] = Chain(whole=since is None)
        chain.follow(Entry(*row) for row in of_site)
    return found


def _of(site_ids: Collection[UUID | None]) -> Q:
    wanted = Q(site__in=[key for key in site_ids if key is not None])
    return wanted | Q(site=None) if None in site_ids else wanted


def _entries(site_ids: Collection[UUID | None], since: datetime | None) -> QuerySet:
    entries = RecordEntry.objects.filter(_of(site_ids))
    if since is None:
        return entries
    firsts = entries.filter(at__gte=since).order_by().values("site").annotate(first=Min("sequence"))
    # With the entry before, which the first one has to follow.
    parts = [Q(site=row["site"], sequence__gte=row["first"] - 1) for row in firsts]
    return RecordEntry.objects.filter(reduce(or_, parts)) if parts else entries.none()


def texts_of(chains: Iterable[Chain]) -> dict[int, dict[str, Said]]:
    """The texts that were written with entries, by entry and name."""
    keys = [key for chain in chains for key in chain.said]
    found: dict[int, dict[str, Said]] = {}
    for at in range(0, len(keys), ENTRIES_READ):
        for text in Said.objects.filter(entry__in=keys[at : at + ENTRIES_READ]):
            found.setdefault(text.entry_id, {})[text.name] = text
    return found

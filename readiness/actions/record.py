"""Appending to a site's Record and checking its chain.

Entries hold ids, numbers and digests, never names or e-mail addresses: a person's details can be
removed later without touching the chain.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import connection

from readiness import clock
from readiness.models import RecordEntry, Site, User
from readiness.models.record import GENESIS


def lock_site(site_id) -> Site:
    """Take the site's row for this transaction, so that actions on one site follow one another.

    SQLite takes the whole database instead (its transactions start as IMMEDIATE).
    """
    if not connection.in_atomic_block:
        raise RuntimeError("Lock a site inside a transaction.")
    return Site.objects.select_for_update(of=("self",)).get(pk=site_id)


def append(site: Site, actor: User | None, verb: str, data: dict, at=None) -> RecordEntry:
    """Append one entry to the site's Record; call it in the transaction of what it records.

    `data` must be JSON as it stands: strings, whole numbers, booleans, lists and dicts of them.
    """
    lock_site(site.pk)
    last = RecordEntry.objects.filter(site=site).order_by("-sequence").first()
    entry = RecordEntry(
        site=site,
        sequence=last.sequence + 1 if last else 1,
        at=at or clock.now(),
        actor=actor,
        verb=verb,
        data=data,
        previous_digest=last.digest if last else GENESIS,
    )
    entry.digest = entry.computed_digest()
    entry.save(force_insert=True)
    return entry


@dataclass(frozen=True)
class Break:
    """The first place where a site's chain does not hold."""

    site_id: str
    sequence: int
    sentence: str


def first_break(site: Site) -> Break | None:
    """Walk the chain of one site from its first entry; None when it holds."""
    for entry, sentence in _walk(site):
        if sentence:
            return Break(str(site.pk), entry.sequence, sentence)
    return None


def _walk(site: Site) -> Iterator[tuple[RecordEntry, str]]:
    previous, expected = GENESIS, 1
    entries = RecordEntry.objects.filter(site=site).order_by("sequence")
    for entry in entries.iterator(chunk_size=500):
        if entry.sequence != expected:
            yield entry, f"Entry {expected} is missing: the next one kept is {entry.sequence}."
        elif entry.previous_digest != previous:
            yield entry, f"Entry {entry.sequence} does not follow the entry before it."
        elif entry.digest != entry.computed_digest():
            yield entry, f"Entry {entry.sequence} was changed: its digest does not match."
        else:
            yield entry, ""
        previous, expected = entry.digest, entry.sequence + 1

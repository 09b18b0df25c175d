"""Checking some sites: their chains, and the digests of their photos and papers.

A few queries for all of them together; the answer is the same as one by one.
"""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from itertools import groupby
from operator import attrgetter, or_
from uuid import UUID

from django.core.files.storage import storages
from django.db.models import Min, Q

from readiness.models import Original, Paper, Photo, RecordEntry, Site, SpooledOriginal
from readiness.models.record import GENESIS
from readiness.photos import spool
from readiness.photos import store as photo_store

ENTRIES_READ = 2000


@dataclass
class Checked:
    """How much was checked, and a sentence on the first thing that does not hold.

    `is_unreadable` tells a store that does not answer, which is no sign of a change.
    """

    sites: int = 0
    entries: int = 0
    photos: int = 0
    papers: int = 0
    first_break: str = ""
    is_unreadable: bool = False
    elsewhere: int = 0
    """Photos that lie on another machine, still to be moved to the store: not looked at."""

    def add(self, other: "Checked") -> None:
        """Count in what comes after; the first break stays the first."""
        self.sites += other.sites
        self.entries += other.entries
        self.photos += other.photos
        self.papers += other.papers
        self.elsewhere += other.elsewhere
        if not self.first_break:
            self.first_break, self.is_unreadable = other.first_break, other.is_unreadable


def check_sites(
    site_ids: Iterable[UUID], since: datetime | None = None, files: bool = True
) -> Checked:
    """Check these sites from the oldest on, up to the first break.

    With `since`, what was appended, received or made from then on, and that it follows the entry
    before. Without `files` only the chains.
    """
    sites = list(Site.objects.filter(pk__in=list(site_ids)).order_by("created_at", "pk"))
    chains = _chains(sites, since)
    stored = _Files(sites, since) if files else None
    checked = Checked()
    for site in sites:
        entries, first_break = chains.get(site.pk, (0, ""))
        checked.entries += entries
        checked.first_break = first_break
        if stored and not first_break:
            stored.check(site, checked)
        if checked.first_break:
            checked.first_break = f"{site} ({site.pk}): {checked.first_break}"
            return checked
        checked.sites += 1
    return checked


def chain_break(site: Site) -> str:
    """A sentence on the first entry where a site's chain does not hold; empty when it holds."""
    return _chains([site]).get(site.pk, (0, ""))[1]


def _chains(sites: list[Site], since: datetime | None = None) -> dict[UUID, tuple[int, str]]:
    """For each site that has entries: how many hold, and what does not."""
    entries = _entries(sites, since).order_by("site", "sequence").iterator(ENTRIES_READ)
    return {
        site_id: _chain(of_site, whole=since is None)
        for site_id, of_site in groupby(entries, key=attrgetter("site_id"))
    }


def _entries(sites: list[Site], since: datetime | None):
    entries = RecordEntry.objects.filter(site__in=sites)
    if since is None:
        return entries
    firsts = entries.filter(at__gte=since).order_by().values("site").annotate(first=Min("sequence"))
    # With the entry before, which the first one has to follow.
    parts = [Q(site=row["site"], sequence__gte=row["first"] - 1) for row in firsts]
    return RecordEntry.objects.filter(reduce(or_, parts)) if parts else entries.none()


def _chain(entries: Iterator[RecordEntry], whole: bool) -> tuple[int, str]:
    """Entries of one site in order; a chain that is not `whole` starts where it starts."""
    previous, expected = (GENESIS, 1) if whole else (None, None)
    count = 0
    for entry in entries:
        if expected is not None and entry.sequence != expected:
            text = f"entry {expected} is missing; the next one kept is {entry.sequence}."
            return count, text
        if previous is not None and entry.previous_digest != previous:
            return count, f"entry {entry.sequence} does not follow the entry before it."
        if entry.digest != entry.computed_digest():
            return count, f"entry {entry.sequence} was changed: its digest does not match."
        previous, expected, count = entry.digest, entry.sequence + 1, count + 1
    return count, ""


class _Files:
    """The photos and papers of some sites, read in two queries."""

    def __init__(self, sites: list[Site], since: datetime | None):
        photos = Photo.objects.filter(site__in=sites, original__deleted_at=None)
        papers = Paper.objects.filter(site__in=sites).made()
        if since:
            photos, papers = (
                photos.filter(received_at__gte=since),
                papers.filter(made_at__gte=since),
            )
        self.originals: dict[UUID, set[str]] = defaultdict(set)
        for site_id, digest in photos.order_by().values_list("site", "original").distinct():
            self.originals[site_id].add(digest)
        self.papers: dict[UUID, list[Paper]] = defaultdict(list)
        for paper in papers.order_by("made_at"):
            self.papers[paper.site_id].append(paper)

    def check(self, site: Site, checked: Checked) -> None:
        try:
            checked.first_break = self._digests(site, checked)
        except OSError as error:
            checked.first_break = f"its photos and papers can't be read now ({error})."
            checked.is_unreadable = True

    def _digests(self, site: Site, checked: Checked) -> str:
        for digest in sorted(self.originals[site.pk]):
            original = Original(digest=digest)
            if _digest(photo_store.open_file, original.storage_name) == digest:
                checked.photos += 1
            elif _is_elsewhere(digest):
                checked.elsewhere += 1
            else:
                return f"photo {original.short_digest} is missing or was changed."
        for paper in self.papers[site.pk]:
            if _digest(storages["papers"].open, paper.storage_name) != paper.digest:
                return f"the {paper.get_kind_display().lower()} {paper.digest[:12]} was changed."
            checked.papers += 1
        return ""


def _digest(open_file: Callable, name: str) -> str:
    try:
        with open_file(name) as stored:
            return hashlib.file_digest(stored, "sha256").hexdigest()
    except FileNotFoundError:
        return ""


def _is_elsewhere(digest: str) -> bool:
    """Does another machine keep the photo, as the store did not answer when it came?"""
    waiting = SpooledOriginal.objects.filter(original=digest)
    return waiting.exclude(machine=spool.machine()).exists()

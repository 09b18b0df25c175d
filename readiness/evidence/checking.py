"""Checking some sites, and the business: chains, rows, and the files of photos and papers.

A few queries for all of them together; the answer is the same as one by one.
"""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.core.files.storage import storages

from readiness.evidence.breaks import Break
from readiness.evidence.chains import chains_of
from readiness.evidence.replay import row_breaks
from readiness.models import Original, Paper, Photo, Site, SpooledOriginal
from readiness.photos import spool
from readiness.photos import store as photo_store


@dataclass
class Checked:
    """How much was checked, and the first thing that does not hold."""

    sites: int = 0
    entries: int = 0
    photos: int = 0
    papers: int = 0
    found: Break | None = None
    elsewhere: int = 0
    """Photos that lie on another machine, still to be moved to the store: not looked at."""

    @property
    def first_break(self) -> str:
        """A sentence on it; empty when all holds."""
        return self.found.words if self.found else ""

    @property
    def is_unreadable(self) -> bool:
        return bool(self.found and self.found.is_unreadable)

    def add(self, other: "Checked") -> None:
        """Count in what comes after; the first break stays the first."""
        self.sites += other.sites
        self.entries += other.entries
        self.photos += other.photos
        self.papers += other.papers
        self.elsewhere += other.elsewhere
        self.found = self.found or other.found

    def counts(self) -> dict[str, int]:
        names = ("sites", "entries", "photos", "papers", "elsewhere")
        return {name: getattr(self, name) for name in names}


def check_sites(
    site_ids: Collection[UUID], since: datetime | None = None, files: bool = True
) -> Checked:
    """Check these sites from the oldest on, up to the first break.

    With `since`, what was appended, received or made from then on, and that it follows the entry
    before. Without `files` only entries and rows.
    """
    sites = list(Site.objects.filter(pk__in=list(site_ids)).order_by("created_at", "pk"))
    keys = [site.pk for site in sites]
    chains = chains_of(keys, since)
    breaks = row_breaks(chains, keys if since is None else list(chains))
    stored = _Files(sites, since) if files else None
    checked = Checked()
    for site in sites:
        chain = chains.get(site.pk)
        checked.entries += chain.count if chain else 0
        found = (chain.first_break if chain else None) or breaks.get(site.pk)
        if stored and not found:
            found = stored.check(site, checked)
        if found:
            checked.found = replace(found, words=f"{site} ({site.pk}): {found.words}")
            return checked
        checked.sites += 1
    return checked


def check_business(since: datetime | None = None) -> Checked:
    """Check the business's own Record: accounts, rights, settings."""
    chains = chains_of([None], since)
    chain = chains.get(None)
    found = chain.first_break if chain else None
    found = found or row_breaks(chains, [None] if since is None else list(chains)).get(None)
    if found:
        found = replace(found, words=f"The business: {found.words}")
    return Checked(entries=chain.count if chain else 0, found=found)


def site_break(site: Site) -> str:
    """A sentence on the first entry or row of a site that does not hold; empty when all do."""
    chains = chains_of([site.pk])
    chain = chains.get(site.pk)
    found = (chain.first_break if chain else None) or row_breaks(chains, [site.pk]).get(site.pk)
    return found.words if found else ""


class _Files:
    """The photos and papers of some sites, read in two queries."""

    def __init__(self, sites: list[Site], since: datetime | None):
        photos = Photo.objects.kept().filter(site__in=sites)
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

    def check(self, site: Site, checked: Checked) -> Break | None:
        try:
            return self._digests(site, checked)
        except OSError as error:
            words = f"its photos and papers can't be read now ({error})."
            return Break(words, is_unreadable=True)

    def _digests(self, site: Site, checked: Checked) -> Break | None:
        for digest in sorted(self.originals[site.pk]):
            original = Original(digest=digest)
            if _digest(photo_store.open_file, original.storage_name) == digest:
                checked.photos += 1
            elif _is_elsewhere(digest):
                checked.elsewhere += 1
            else:
                return Break(f"photo {original.digest} is missing or was changed.")
        for paper in self.papers[site.pk]:
            if _digest(storages["papers"].open, paper.storage_name) != paper.digest:
                kind = paper.get_kind_display().lower()
                return Break(f"the {kind} {paper.digest} was changed.")
            checked.papers += 1
        return None


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

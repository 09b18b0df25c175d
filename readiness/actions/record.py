"""Appending to a site's Record and checking its chain.

Entries hold ids, numbers and digests, never names or e-mail addresses: a person's details can be
removed later without touching the chain.
"""

import hashlib
from dataclasses import dataclass

from django.core.files.storage import storages
from django.db import connection

from readiness import clock
from readiness.models import Original, Paper, RecordEntry, Site, SpooledOriginal, User
from readiness.models.record import GENESIS
from readiness.photos import store as photo_store
from readiness.photos.spool import machine


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


@dataclass
class Checked:
    """How much was checked, and a sentence on the first thing that does not hold."""

    sites: int = 0
    entries: int = 0
    photos: int = 0
    papers: int = 0
    elsewhere: int = 0
    """Photos that lie on another machine, still to be moved to the store: not looked at."""
    first_break: str = ""


def verify_all(site_ids=None) -> Checked:
    """Check the chains of all sites (or of some), and the digests of their photos and papers.

    Stops at the first break and says where it is.
    """
    checked = Checked()
    sites = Site.objects.order_by("created_at", "pk")
    for site in sites.filter(pk__in=site_ids) if site_ids else sites:
        checked.first_break = _check_chain(site, checked) or _check_files(site, checked)
        if checked.first_break:
            checked.first_break = f"{site} ({site.pk}): {checked.first_break}"
            return checked
        checked.sites += 1
    return checked


def chain_break(site: Site) -> str:
    """A sentence on the first entry where a site's chain does not hold; empty when it holds."""
    return _check_chain(site, Checked())


def _check_chain(site: Site, checked: Checked) -> str:
    previous, expected = GENESIS, 1
    entries = RecordEntry.objects.filter(site=site).order_by("sequence")
    for entry in entries.iterator(chunk_size=500):
        if entry.sequence != expected:
            return f"entry {expected} is missing; the next one kept is {entry.sequence}."
        if entry.previous_digest != previous:
            return f"entry {entry.sequence} does not follow the entry before it."
        if entry.digest != entry.computed_digest():
            return f"entry {entry.sequence} was changed: its digest does not match."
        previous, expected = entry.digest, entry.sequence + 1
        checked.entries += 1
    return ""


def _check_files(site: Site, checked: Checked) -> str:
    try:
        return _check_digests(site, checked)
    except OSError as error:  # a store that does not answer is no sign of a change
        return f"its photos and papers can't be read now ({error})."


def _check_digests(site: Site, checked: Checked) -> str:
    originals = Original.objects.filter(photos__site=site, deleted_at=None).distinct()
    for original in originals.order_by("digest").iterator(chunk_size=500):
        if _photo_digest(original) == original.digest:
            checked.photos += 1
        elif SpooledOriginal.objects.filter(original=original).exclude(machine=machine()).exists():
            checked.elsewhere += 1
        else:
            return f"photo {original.short_digest} is missing or was changed."
    for paper in Paper.objects.filter(site=site).made().order_by("made_at"):
        if _paper_digest(paper) != paper.digest:
            return f"the {paper.get_kind_display().lower()} {paper.digest[:12]} was changed."
        checked.papers += 1
    return ""


def _photo_digest(original: Original) -> str:
    try:
        with photo_store.open_file(original.storage_name) as stored:
            return hashlib.file_digest(stored, "sha256").hexdigest()
    except FileNotFoundError:
        return ""


def _paper_digest(paper: Paper) -> str:
    try:
        with storages["papers"].open(paper.storage_name, "rb") as stored:
            return hashlib.file_digest(stored, "sha256").hexdigest()
    except FileNotFoundError:
        return ""

"""The append-only history of a site, and that of the business: who did what, and what it changed.

Each entry carries the digest of the one before, and the digest of every row that it made or
changed. What people wrote, and what names somebody, stands beside the chain: the chain holds
digests of it that nobody can guess without its salt, so that it can be removed and the chain still
holds.
"""

import hashlib

from django.db import models
from django.db.models import Q

from readiness.canonical import canonical

from .people import User
from .site import Site

GENESIS = "0" * 64
CLOCK_SET_BACK = "clock_set_back"
"""In the data of an entry whose time lies before the one before it."""


class RecordEntry(models.Model):
    """One thing that somebody did. Names, addresses and free text stay out of `data`:

    the actor is kept by id, texts are `Said`. Without a site it belongs to the business's own
    Record: accounts, rights, settings. `rows` has the digest of each row that was made or changed,
    as `readiness.evidence.forms` works it out; None of one that was deleted.
    """

    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.PROTECT, related_name="record"
    )
    sequence = models.PositiveIntegerField()
    at = models.DateTimeField()
    actor = models.ForeignKey(
        User, null=True, on_delete=models.DO_NOTHING, db_constraint=False, related_name="+"
    )
    verb = models.CharField(max_length=40)
    data = models.JSONField(default=dict)
    rows = models.JSONField(default=dict)
    previous_digest = models.CharField(max_length=64)
    digest = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["site", "sequence"]
        verbose_name_plural = "record entries"
        constraints = [
            models.UniqueConstraint(fields=["site", "sequence"], name="record_sequence_once"),
            models.UniqueConstraint(
                fields=["sequence"], condition=Q(site=None), name="record_of_business_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sequence}: {self.verb}"

    @property
    def told(self) -> dict:
        """Its data with the texts that were written with it."""
        texts = self.said.all() if self.pk else ()
        return {**self.data, **{said.name: said.text for said in texts}}

    def canonical(self) -> bytes:
        """The bytes that the digest covers: JSON with sorted keys, no spaces, UTF-8."""
        return canonical_of(self)

    def computed_digest(self) -> str:
        """SHA-256 (FIPS 180-4) of `canonical()`, in hex."""
        return digest_of(self)


def canonical_of(entry) -> bytes:
    """`RecordEntry.canonical`, also for an entry of a migration's own model."""
    content = {
        "site": str(entry.site_id) if entry.site_id else None,
        "sequence": entry.sequence,
        "at": entry.at.isoformat(timespec="microseconds"),
        "actor": str(entry.actor_id) if entry.actor_id else None,
        "verb": entry.verb,
        "data": entry.data,
        "previous": entry.previous_digest,
    }
    if entry.rows:  # entries of version 0.2 and earlier have none, and keep their bytes
        content["rows"] = entry.rows
    return canonical(content)


def digest_of(entry) -> str:
    return hashlib.sha256(canonical_of(entry)).hexdigest()


class Commitment(models.Model):
    """What the latest digest of one row was made of: a value or a salted digest for each column.

    The entry holds the digest, this says which column differs where the row no longer fits. With
    the salt goes the last way to try out who or what an earlier digest stood for.
    """

    row = models.CharField(max_length=100, primary_key=True, help_text="Such as fix/<its id>.")
    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.CASCADE, related_name="commitments"
    )
    entry = models.ForeignKey(RecordEntry, on_delete=models.DO_NOTHING, related_name="commitments")
    salt = models.CharField(max_length=32)
    leaves = models.JSONField()

    def __str__(self) -> str:
        return self.row


class Said(models.Model):
    """What somebody wrote with an entry: a reason, a note. The entry's data holds its digest."""

    entry = models.ForeignKey(RecordEntry, on_delete=models.DO_NOTHING, related_name="said")
    name = models.CharField(max_length=20)
    text = models.TextField()
    salt = models.CharField(max_length=32)

    class Meta:
        verbose_name_plural = "said"
        constraints = [models.UniqueConstraint(fields=["entry", "name"], name="said_once")]

    def __str__(self) -> str:
        return f"{self.name} of {self.entry_id}"

"""The append-only history of a site. Each entry carries the digest of the one before."""

import hashlib
import json

from django.db import models

from .people import User
from .site import Site

GENESIS = "0" * 64


class RecordEntry(models.Model):
    """One thing that somebody did. Names and e-mail addresses stay out of `data`:

    the actor is kept by id, so that a person's details can be removed without touching the chain.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="record")
    sequence = models.PositiveIntegerField()
    at = models.DateTimeField()
    actor = models.ForeignKey(
        User, null=True, on_delete=models.DO_NOTHING, db_constraint=False, related_name="+"
    )
    verb = models.CharField(max_length=40)
    data = models.JSONField(default=dict)
    previous_digest = models.CharField(max_length=64)
    digest = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["site", "sequence"]
        verbose_name_plural = "record entries"
        constraints = [
            models.UniqueConstraint(fields=["site", "sequence"], name="record_sequence_once")
        ]

    def __str__(self) -> str:
        return f"{self.sequence}: {self.verb}"

    def canonical(self) -> bytes:
        """The bytes that the digest covers: JSON with sorted keys, no spaces, UTF-8."""
        return canonical_of(self)

    def computed_digest(self) -> str:
        """SHA-256 (FIPS 180-4) of `canonical()`, in hex."""
        return digest_of(self)


def canonical_of(entry) -> bytes:
    """`RecordEntry.canonical`, also for an entry of a migration's own model."""
    content = {
        "site": str(entry.site_id),
        "sequence": entry.sequence,
        "at": entry.at.isoformat(timespec="microseconds"),
        "actor": str(entry.actor_id) if entry.actor_id else None,
        "verb": entry.verb,
        "data": entry.data,
        "previous": entry.previous_digest,
    }
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def digest_of(entry) -> str:
    return hashlib.sha256(canonical_of(entry)).hexdigest()

"""Checkpoints: the signed root over all Record entries of the installation at a time.

The leaves of its Merkle tree are the entries in one order for all sites. A position is handed out
when a checkpoint is made, to every entry that has none yet, so that there is never a gap however
late a transaction ends. `readiness.evidence.checkpoints` makes them.
"""

from django.db import models
from django.db.models import Q, Subquery
from django.db.models.functions import Coalesce

from .errand import Errand, ErrandQuerySet, only_in
from .record import RecordEntry


class Leaf(models.Model):
    """Which entry stands at which position, from 0 on, for ever."""

    position = models.PositiveBigIntegerField(primary_key=True)
    entry = models.OneToOneField(RecordEntry, on_delete=models.PROTECT, related_name="leaf")

    class Meta:
        ordering = ["position"]
        verbose_name_plural = "leaves"

    def __str__(self) -> str:
        return f"{self.position}: entry {self.entry_id}"


class Tile(models.Model):
    """The root of 256 leaves that are all there: only for speed, as the leaves say the same."""

    number = models.PositiveBigIntegerField(primary_key=True)
    root = models.CharField(max_length=64)

    class Meta:
        ordering = ["number"]

    def __str__(self) -> str:
        return f"{self.number}: {self.root}"


class SigningKey(models.Model):
    """A public key that checkpoints of this installation were signed with, and since when.

    `id` is the start of the SHA-256 of the key, `public` the key itself, both of the DER form of
    RFC 8410 (SubjectPublicKeyInfo). One that took another's place names it; `endorsement` is the
    earlier key's signature over that, empty where the earlier key was gone.
    """

    id = models.CharField(max_length=32, primary_key=True)
    public = models.CharField(max_length=80, unique=True, help_text="In base64.")
    since = models.DateTimeField()
    portal = models.CharField(max_length=300, help_text="The portal's address at that time.")
    replaces = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by"
    )
    endorsement = models.CharField(max_length=100, blank=True, help_text="In base64.")

    class Meta:
        ordering = ["since"]

    def __str__(self) -> str:
        return self.id


class Checkpoint(models.Model):
    """So many entries, their root, and the signature over both; `consistency` leads from the one
    before to this one (RFC 9162, 2.1.4), the hashes in hex.
    """

    class Reason(models.TextChoices):
        DAILY = "daily", "Daily"
        ISSUED = "issued", "A report was issued"
        CONFIRMED = "confirmed", "Readiness was confirmed"
        TREATED = "treated", "A treatment was recorded"
        PAPER = "paper", "For a paper"
        COMMAND = "command", "By command"

    number = models.PositiveIntegerField(primary_key=True)
    size = models.PositiveBigIntegerField(unique=True)
    root = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    portal = models.CharField(max_length=300, help_text="The portal's address, as it was signed.")
    previous = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="next"
    )
    consistency = models.JSONField(default=list)
    key = models.ForeignKey(SigningKey, on_delete=models.PROTECT, related_name="checkpoints")
    signature = models.CharField(max_length=100, help_text="In base64.")
    reason = models.CharField(max_length=10, choices=Reason)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(condition=Q(size__gt=0), name="checkpoint_has_leaves"),
            models.CheckConstraint(
                condition=Q(number=1, previous=None) | Q(number__gt=1, previous__isnull=False),
                name="checkpoint_follows_another",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.size} entries"


class TimestampQuerySet(ErrandQuerySet):
    def in_force(self) -> "TimestampQuerySet":
        """Those that are still wanted: a later one stands for the entries of all before it."""
        latest = Timestamp.objects.filter(state="made").order_by("-checkpoint")
        after = Coalesce(Subquery(latest.values("checkpoint")[:1]), 0)
        return self.filter(checkpoint__gt=after)


class Timestamp(Errand):
    """What an RFC 3161 authority says of when a checkpoint was there: asked for, then kept."""

    class State(models.TextChoices):
        WAITING = "waiting", "To be asked for"
        ASKING = "asking", "Being asked for"
        MADE = "made", "Made"
        GIVEN_UP = "given_up", "Could not be had"

    READY, CLAIMED, GIVEN_UP = State.WAITING, State.ASKING, State.GIVEN_UP
    UNFINISHED = (State.WAITING, State.ASKING)
    SINCE = "asked_at"

    checkpoint = models.OneToOneField(
        Checkpoint, on_delete=models.PROTECT, primary_key=True, related_name="timestamp"
    )
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    asked_at = models.DateTimeField(help_text="Since when it is wanted.")
    authority = models.CharField(max_length=300, blank=True)
    answer = models.TextField(blank=True, help_text="The authority's whole answer: DER, in base64.")
    stamped_at = models.DateTimeField(null=True, blank=True, help_text="As the authority says.")

    objects = TimestampQuerySet.as_manager()

    class Meta:
        ordering = ["checkpoint"]
        indexes = [
            models.Index(
                fields=["next_try_at"], condition=Q(state="waiting"), name="timestamp_to_ask"
            ),
            models.Index(
                fields=["claimed_by"], condition=Q(state="asking"), name="timestamp_under_way"
            ),
            models.Index(
                fields=["given_up_at"], condition=Q(state="given_up"), name="timestamp_given_up"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=only_in("made", Q(stamped_at__isnull=False)), name="timestamp_made_whole"
            ),
            models.CheckConstraint(
                condition=only_in("asking", ~Q(claimed_by="")), name="timestamp_asking_is_claimed"
            ),
            models.CheckConstraint(
                condition=only_in("given_up", Q(given_up_at__isnull=False)),
                name="timestamp_given_up_has_time",
            ),
        ]

    def __str__(self) -> str:
        return f"Timestamp of checkpoint {self.checkpoint_id}"

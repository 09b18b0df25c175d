"""What a background worker does once, over a network or for long: claimed, done, written down.

A claim is one UPDATE that commits before anything is done, so that two workers never do the same
thing and nothing is held locked meanwhile. `attempts` counts the claims; with `claimed_by` it tells
a worker that comes late whether the thing is still its own.
"""

from datetime import datetime, timedelta
from typing import Any, ClassVar, cast

from django.db import models
from django.db.models import Q

LONGEST_PAUSE = timedelta(hours=24)
"""No try is ever put off by more; a time further ahead comes from a clock that was wrong."""


class ErrandQuerySet(models.QuerySet):
    """Named after what the office asks: what waits, what is being done, what failed for good."""

    @property
    def _errand(self) -> type["Errand"]:
        return cast(type["Errand"], self.model)

    def waiting(self) -> "ErrandQuerySet":
        """Neither done nor given up: what is held, waits for its next try, or is being done."""
        return self.filter(state__in=self._errand.UNFINISHED)

    def failed(self) -> "ErrandQuerySet":
        """Given up: only a person can start it again."""
        return self.filter(state=self._errand.GIVEN_UP)

    def stumbling(self) -> "ErrandQuerySet":
        """Waits for another try, because one has failed."""
        return self.filter(state=self._errand.READY, attempts__gt=0)

    def troubled(self) -> "ErrandQuerySet":
        """What the office should know of: given up, or failed and waiting for another try."""
        # Not "or": each half has an index of its own, which SQLite would not use then.
        every = self._errand.objects.order_by()
        halves = every.failed().values("pk").union(every.stumbling().values("pk"), all=True)
        return self.filter(pk__in=halves)

    def under_way(self) -> "ErrandQuerySet":
        """Claimed by a worker, who may have stopped meanwhile."""
        return self.filter(state=self._errand.CLAIMED)

    def due(self, now: datetime) -> "ErrandQuerySet":
        """What a worker may claim at `now`: the first try at once, a later one at its time."""
        at_its_time = Q(next_try_at__lte=now) | Q(next_try_at__gt=now + LONGEST_PAUSE)
        return self.filter(Q(attempts=0) | at_its_time, state=self._errand.READY)

    def oldest(self) -> datetime | None:
        """Since when the oldest of these has been asked for; None where there is none."""
        since = self._errand.SINCE
        return self.order_by(since).values_list(since, flat=True).first()


class Errand(models.Model):
    """The columns that say how far it is; the states are the subclass's own."""

    READY: ClassVar[str]
    CLAIMED: ClassVar[str]
    GIVEN_UP: ClassVar[str]
    UNFINISHED: ClassVar[tuple[str, ...]]
    SINCE: ClassVar[str]
    objects: Any
    state: Any

    attempts = models.PositiveSmallIntegerField(default=0, help_text="Tries that were begun.")
    next_try_at = models.DateTimeField(null=True, blank=True)
    claimed_by = models.CharField(
        max_length=100, blank=True, help_text="The worker that is doing it now."
    )
    started_at = models.DateTimeField(null=True, blank=True, help_text="When the latest try began.")
    given_up_at = models.DateTimeField(null=True, blank=True)
    error = models.TextField(blank=True, help_text="Why the latest try failed.")

    class Meta:
        abstract = True

    @property
    def is_waiting(self) -> bool:
        """Neither done nor given up."""
        return self.state in self.UNFINISHED

    @property
    def can_be_retried(self) -> bool:
        """Whether a person may ask for a try now: one has failed, and none is under way."""
        stumbles = self.state == self.READY and self.attempts > 0
        return stumbles or self.state == self.GIVEN_UP


def only_in(state: str, condition: Q) -> Q:
    """A check: the condition holds in that state, and its contrary in every other."""
    return Q(state=state) & condition | ~Q(state=state) & ~condition

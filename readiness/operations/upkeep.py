"""What the office should know of its portal: work that lags or was given up, worker, disk, back-up.

Numbers and times only; the portal says them in words.
"""

from __future__ import annotations

import platform
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import django
from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Count, Max, Min, Q, QuerySet, Value

from readiness import clock
from readiness.evidence import checkpoints, signing
from readiness.models import (
    LastDone,
    Message,
    Original,
    Paper,
    SpooledOriginal,
    Timestamp,
)
from readiness.models.errand import Errand
from readiness.operations import health, watch
from readiness.photos import store as photo_store
from readiness.version import VERSION

WORK_IS_LATE_AFTER = timedelta(minutes=10)
NEW_KEY_IS_TOLD = timedelta(days=30)
BACKUP_IS_LATE_AFTER = timedelta(days=2)
PROXY_UNSET = "proxy-unset"
"""Noted every hour in which a request comes through a proxy that the settings do not count."""
PROXY_TOLD_FOR = timedelta(days=2)


@dataclass(frozen=True)
class Queue:
    """One kind of background work: how much waits and since when, and how much was given up.

    `stumbles` says that a try of what waits has failed.
    """

    kind: str
    waiting: int
    oldest: datetime | None
    stumbles: bool
    failed: int

    @property
    def is_late(self) -> bool:
        return self.oldest is not None and clock.now() - self.oldest > WORK_IS_LATE_AFTER


@dataclass(frozen=True)
class Upkeep:
    """How the installation is kept going, read in three queries, each by an index."""

    queues: tuple[Queue, ...]
    workers: tuple[LastDone, ...]
    backup: LastDone | None
    checkpoint: LastDone | None
    """When entries of the Record were last looked for to be signed."""

    proxy_unset: LastDone | None
    new_key: LastDone | None
    """When a key came that the one before did not sign; the About page tells of it for ever."""

    disk: health.Disk | None
    now: datetime = field(default_factory=clock.now)

    @property
    def worker_seen_at(self) -> datetime | None:
        return max((worker.at for worker in self.workers), default=None)

    @property
    def is_worker_missing(self) -> bool:
        seen = self.worker_seen_at
        return seen is None or self.now - seen > health.WORKER_IS_LATE_AFTER

    @property
    def is_worker_missed(self) -> bool:
        """No worker, and something waits for one: that is when somebody has to look."""
        return self.is_worker_missing and any(queue.is_late for queue in self.queues)

    @property
    def is_proxy_unset(self) -> bool:
        """Until the setting is made; and not for a request that somebody forged days ago."""
        return _tells_of_a_proxy(self.proxy_unset, self.now)

    @property
    def is_key_new(self) -> bool:
        return self.new_key is not None and self.now - self.new_key.at < NEW_KEY_IS_TOLD

    @property
    def is_backup_late(self) -> bool:
        """Late since the last one; without any, as soon as there is a portal of one's own."""
        if self.backup is None:
            return not settings.EMBEDDED
        return self.now - self.backup.at > BACKUP_IS_LATE_AFTER


def _tells_of_a_proxy(noted: LastDone | None, now: datetime) -> bool:
    if settings.READINESS_PROXY_COUNT or noted is None:
        return False
    return now - noted.at < PROXY_TOLD_FOR


def is_proxy_unset() -> bool:
    """Whether requests come through a proxy that the settings do not count."""
    return _tells_of_a_proxy(LastDone.objects.filter(name=PROXY_UNSET).first(), clock.now())


def look() -> Upkeep:
    """How things stand now."""
    noted = LastDone.objects.filter(
        Q(name__in=("backup", PROXY_UNSET, checkpoints.NOTED, signing.CHANGED))
        | Q(name__startswith=watch.PREFIX)
    )
    rows = list(noted.order_by("-at"))
    by_name = {row.name: row for row in rows}
    try:
        disk = health.disk()
    except OSError:
        disk = None
    return Upkeep(
        queues=_queues(),
        workers=tuple(row for row in rows if row.name.startswith(watch.PREFIX)),
        backup=by_name.get("backup"),
        checkpoint=by_name.get(checkpoints.NOTED),
        proxy_unset=by_name.get(PROXY_UNSET),
        new_key=by_name.get(signing.CHANGED),
        disk=disk,
    )


def _queues() -> tuple[Queue, ...]:
    """A row of counts for each state that is not done, each found by that state's own index."""
    kinds = {"emails": Message.objects.all(), "papers": Paper.objects.in_force()}
    if settings.READINESS_TIMESTAMP_URL:
        kinds["timestamps"] = Timestamp.objects.in_force()
    parts = [part for kind, rows in kinds.items() for part in _counts(kind, rows)]
    found = list(parts[0].union(*parts[1:], all=True))
    queues = (*(_queue(kind, rows.model, found) for kind, rows in kinds.items()), _sizes())
    return queues if photo_store.is_local() else (*queues, _to_move())


def _counts(kind: str, rows) -> Iterator[QuerySet]:
    model = rows.model
    for state in (*model.UNFINISHED, model.GIVEN_UP):
        of_state = rows.filter(state=state).order_by().values("state")
        yield of_state.annotate(
            kind=Value(kind), found=Count("pk"), oldest=Min(model.SINCE), tries=Max("attempts")
        ).values("kind", "state", "found", "oldest", "tries")


def _queue(kind: str, model: type[Errand], rows: list[dict]) -> Queue:
    found = {row["state"]: row for row in rows if row["kind"] == kind}
    waiting = [found[state] for state in model.UNFINISHED if state in found]
    return Queue(
        kind,
        waiting=sum(row["found"] for row in waiting),
        oldest=min((row["oldest"] for row in waiting), default=None),
        stumbles=model.READY in found and found[model.READY]["tries"] > 0,
        failed=found[model.GIVEN_UP]["found"] if model.GIVEN_UP in found else 0,
    )


def _sizes() -> Queue:
    found = Original.objects.without_sizes().aggregate(
        waiting=Count("pk", filter=Q(sizes_given_up_at=None)),
        oldest=Min("received_at", filter=Q(sizes_given_up_at=None)),
        tries=Max("sizes_attempts", filter=Q(sizes_given_up_at=None)),
        failed=Count("pk", filter=Q(sizes_given_up_at__isnull=False)),
    )
    return Queue(
        "photos",
        waiting=found["waiting"],
        oldest=found["oldest"],
        stumbles=bool(found["tries"]),
        failed=found["failed"],
    )


def _to_move() -> Queue:
    """Photos that one machine keeps, as the object store did not answer when they came."""
    found = SpooledOriginal.objects.aggregate(waiting=Count("pk"), oldest=Min("since"))
    return Queue("moves", found["waiting"], found["oldest"], stumbles=False, failed=0)


@dataclass(frozen=True)
class Versions:
    """What runs here, for whoever is asked for help."""

    portal: str
    python: str
    django: str
    database: str
    migrations_to_come: int


def versions() -> Versions:
    connection.ensure_connection()
    version = ".".join(map(str, connection.get_database_version()))
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return Versions(
        portal=VERSION,
        python=platform.python_version(),
        django=django.get_version(),
        database=f"{connection.display_name} {version}",
        migrations_to_come=len(plan),
    )

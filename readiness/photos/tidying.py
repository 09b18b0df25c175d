"""Finding files that no row knows, and rows whose files are gone."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

from readiness.models import Original, SpooledOriginal
from readiness.photos import spool, store

ORPHAN_AGE_SECONDS = 24 * 3600
BATCH = 500


@dataclass
class Untidy:
    """Names of stored files without a row, and digests of rows without their file.

    ``waiting`` is what lies on one machine, still to be moved to the store: digest and machine.
    """

    orphans: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    waiting: list[tuple[str, str]] = field(default_factory=list)


def look(*, older_than_seconds: float = ORPHAN_AGE_SECONDS) -> Untidy:
    """Look through the whole storage. Young files are left alone: their rows may be on the way."""
    found = Untidy()
    for folder in (store.INCOMING, "originals", "sizes"):
        for name in _orphans(folder):
            if store.age_seconds(name) >= older_than_seconds:
                found.orphans.append(name)
    found.waiting = list(SpooledOriginal.objects.values_list("original_id", "machine"))
    elsewhere = {digest for digest, machine in found.waiting if machine != spool.machine()}
    for digest in Original.objects.filter(deleted_at=None).values_list("pk", flat=True).iterator():
        if digest not in elsewhere and not store.exists(Original(digest=digest).storage_name):
            found.lost.append(digest)
    return found


def _orphans(folder: str) -> Iterator[str]:
    for batch in _batches(store.walk(folder)):
        digests = {name: name.rsplit("/", 1)[-1][:64] for name in batch}
        known = set(
            Original.objects.filter(pk__in=digests.values(), deleted_at=None).values_list(
                "pk", flat=True
            )
        )
        yield from (
            name for name in batch if folder == store.INCOMING or digests[name] not in known
        )


def _batches(names: Iterator[str]) -> Iterator[list[str]]:
    while batch := list(islice(names, BATCH)):
        yield batch


def delete(names: list[str]) -> None:
    """Delete orphans, looking once more at each: its row may have come meanwhile."""
    for name in names:
        digest = name.rsplit("/", 1)[-1][:64]
        is_known = Original.objects.filter(pk=digest, deleted_at=None).exists()
        if name.startswith(f"{store.INCOMING}/") or not is_known:
            store.delete(name)

"""Making a checkpoint: positions for the entries that have none, the root over all, the signature.

Two that make one at once make one: a row is locked. Only what is new is hashed, and the last
leaves of what was there; whether all of it still is as it was, `anchors` asks.
"""

import base64
from collections.abc import Sequence
from datetime import datetime

from django.conf import settings
from django.db import connection, transaction
from django.db.models import Max

from readiness import clock
from readiness.evidence import merkle, signing
from readiness.evidence.merkle import TILE, Tree
from readiness.evidence.notes import Note, b64, signed_text
from readiness.models import Checkpoint, LastDone, Leaf, RecordEntry, Site, Tile, Timestamp

Reason = Checkpoint.Reason

NOTED = "checkpoint"
"""The row of `LastDone`: when entries were last looked for, and what was wrong then."""

LOOKED_BACK = 10_000
"""So many ids below the last placed one a transaction may still bring entries late; once a day
those below are looked through, too."""

TILES_AT_ONCE = 16

# One statement: a million rows would take a minute through Python, with the database locked.
PLACE = """
    INSERT INTO readiness_leaf (position, entry_id)
    SELECT %s + ROW_NUMBER() OVER (ORDER BY entry.id) - 1, entry.id
    FROM readiness_recordentry entry
    WHERE entry.id > %s
      AND NOT EXISTS (SELECT 1 FROM readiness_leaf leaf WHERE leaf.entry_id = entry.id)
    ORDER BY entry.id
"""


class HistoryChanged(Exception):
    """The entries do not give the last checkpoint's root any more: nothing is signed over that."""


def make(reason: str) -> Checkpoint:
    """The newest checkpoint, made now where entries came since; None where there are none at all.

    Raises BadKey, and HistoryChanged where what was signed before is not what is there.
    """
    with transaction.atomic():
        noted = _locked()
        last = newest()
        size = _place(everywhere=reason in (Reason.DAILY, Reason.COMMAND))
        made = last if last and size <= last.size else _next(last, size, reason)
        noted.at, noted.details = clock.now(), {}
        noted.save()
    return made


def make_quietly(reason: str) -> Checkpoint | None:
    """As `make`, but what keeps it from being made is noted for the office, and None returned."""
    try:
        return make(reason)
    except (signing.BadKey, HistoryChanged) as error:
        LastDone.note(NOTED, trouble=type(error).__name__, error=str(error))
        return None


def newest() -> Checkpoint | None:
    return Checkpoint.objects.select_related("key").order_by("number").last()


def trouble() -> LastDone | None:
    """Why no checkpoint could be made when it was last tried; None when it could."""
    noted = LastDone.objects.filter(name=NOTED).first()
    return noted if noted and noted.details else None


def note_of(checkpoint: Checkpoint) -> Note:
    return Note(
        checkpoint.portal,
        checkpoint.size,
        bytes.fromhex(checkpoint.root),
        checkpoint.made_at,
        base64.b64decode(checkpoint.key.public),
        base64.b64decode(checkpoint.signature),
    )


def covering(site: Site, until: datetime) -> Checkpoint | None:
    """The newest checkpoint, after making one if an entry of the site up to then is in none."""
    entries = RecordEntry.objects.filter(site=site, at__lte=until)
    if entries.filter(leaf=None).exists():
        return make(Reason.PAPER)
    return newest()


def tree(size: int) -> Tree:
    """The tree over the first `size` leaves, by the roots of the tiles that are kept."""
    roots = Tile.objects.filter(number__lt=size // TILE).order_by("number")
    kept = [bytes.fromhex(root) for root in roots.values_list("root", flat=True)]
    return Tree(size, digests, kept)


def digests(start: int, end: int) -> Sequence[bytes]:
    """The leaves at these positions. Raises HistoryChanged where one is missing."""
    leaves = Leaf.objects.filter(position__gte=start, position__lt=end).order_by("position")
    found = [bytes.fromhex(one) for one in leaves.values_list("entry__digest", flat=True)]
    if len(found) != end - start:
        raise HistoryChanged(f"Of the leaves {start} to {end - 1} only {len(found)} are there.")
    return found


def _locked() -> LastDone:
    """The row that one transaction at a time has. SQLite locks the whole database instead."""
    LastDone.objects.get_or_create(name=NOTED, defaults={"at": clock.now()})
    return LastDone.objects.select_for_update().get(name=NOTED)


def _place(everywhere: bool) -> int:
    """Give each entry without a position the next one, by id; returns how many have one now."""
    latest = Leaf.objects.aggregate(entry=Max("entry"))["entry"] or 0
    size = _place_after(latest - LOOKED_BACK)
    if everywhere and size < RecordEntry.objects.count():
        size = _place_after(0)
    return size


def _place_after(entry_id: int) -> int:
    size = _placed()
    with connection.cursor() as cursor:
        cursor.execute(PLACE, [size, entry_id])
    return _placed()


def _placed() -> int:
    last = Leaf.objects.aggregate(last=Max("position"))["last"]
    return 0 if last is None else last + 1


def _next(last: Checkpoint | None, size: int, reason: str) -> Checkpoint | None:
    if not size:
        return None
    _keep_tiles(size)
    whole = tree(size)
    if last and whole.root(last.size).hex() != last.root:
        raise HistoryChanged(f"The first {last.size} entries do not give the root of {last}.")
    private, now = signing.private_key(), clock.now()
    root = whole.root()
    text = signed_text(settings.SITE_URL, size, root, now)
    made = Checkpoint.objects.create(
        number=last.number + 1 if last else 1,
        size=size,
        root=root.hex(),
        made_at=now,
        portal=settings.SITE_URL,
        previous=last,
        consistency=[part.hex() for part in whole.consistency(last.size)] if last else [],
        key=signing.known(private, now),
        signature=b64(private.sign(text)),
        reason=reason,
    )
    if settings.READINESS_TIMESTAMP_URL:
        Timestamp.objects.create(checkpoint=made, asked_at=now, next_try_at=now)
    return made


def _keep_tiles(size: int) -> None:
    """Write down the roots of tiles that are whole since the last checkpoint."""
    have, whole = Tile.objects.count(), size // TILE
    for start in range(have, whole, TILES_AT_ONCE):
        end = min(start + TILES_AT_ONCE, whole)
        leaves = digests(start * TILE, end * TILE)
        Tile.objects.bulk_create(
            Tile(number=number, root=merkle.tile_root(leaves[at : at + TILE]).hex())
            for number, at in zip(range(start, end), range(0, len(leaves), TILE), strict=True)
        )

"""Taking a photo in: hashed while it streams, checked by decoding all of it, stored once.

The order makes a crash harmless: sizes, then the original's bytes, then the rows in one
transaction. A row therefore always has its bytes, in the store or kept here for it (``spool``);
bytes without a row are what ``manage.py tidy_photos`` sweeps.
"""

import contextlib
import hashlib
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.db import transaction

from readiness import clock, disk
from readiness.models import Original, Photo, Site
from readiness.photos import deleting, fingerprint, kinds, metadata, sizes, spool, store
from readiness.photos.decoder import DecodingError, decode
from readiness.photos.limits import DISK_FULL, LIMITS, Limits
from readiness.photos.refused import PhotoRefused

CHUNK_BYTES = 256 * 1024
NAME_LENGTH = 200


@dataclass(frozen=True)
class Received:
    """A file that arrived whole: where it lies for now, its digest (hex) and its size."""

    path: Path
    digest: str
    byte_size: int
    kind: str
    media_type: str


@dataclass(frozen=True)
class Staged:
    """A photo that was checked and whose bytes are stored; ``original`` may still be unsaved."""

    received: Received
    original: Original
    filename: str


def receive(
    file, *, site: Site, uploaded_by, photo_id=None, filename: str = "", limits: Limits = LIMITS
) -> Photo:
    """Take one uploaded file in as a photo of the site and return it.

    ``file`` has ``chunks()`` or ``read()``. Sending the same ``photo_id`` again returns the photo
    of the first time. Raises ``PhotoRefused``, after which nothing of the file is left.
    """
    with staged(file, filename, limits) as stage, transaction.atomic():
        return keep(stage, site=site, uploaded_by=uploaded_by, photo_id=photo_id)[0]


@contextmanager
def staged(file, filename: str = "", limits: Limits = LIMITS) -> Iterator[Staged]:
    """Everything of the intake that needs no database transaction: stream, hash, decode, store.

    The bytes are in their place when the block starts; ``keep`` inside it writes the rows.
    Raises ``PhotoRefused``.
    """
    filename = clean_name(filename or getattr(file, "name", "") or "photo")
    with contextlib.ExitStack() as stack:
        with _refusing_what_the_disk_refuses(filename):
            folder = stack.enter_context(store.workspace())
            received = _save_stream(file, folder, filename, limits)
            original = _known_original(received.digest) or _examine(received, folder, filename)
            store.put(received.path, original.storage_name, may_wait=True)
        yield Staged(received, original, filename)


@contextmanager
def _refusing_what_the_disk_refuses(filename: str) -> Iterator[None]:
    """A full disk, or a store that fails, costs this photo and says so; never a broken page."""
    try:
        yield
    except (store.StoreError, OSError) as error:
        problem = DISK_FULL if disk.is_full(error) else "storage"
        raise PhotoRefused(filename, problem) from error


def clean_name(filename: str) -> str:
    """The sender's file name for showing: no folders, no control characters, 200 characters."""
    last = filename.replace("\\", "/").rsplit("/", 1)[-1]
    printable = "".join(c for c in last if c.isprintable()).strip()
    return printable[-NAME_LENGTH:] or "photo"


def _chunks(file) -> Iterator[bytes]:
    if hasattr(file, "chunks"):
        yield from file.chunks(CHUNK_BYTES)
        return
    while chunk := file.read(CHUNK_BYTES):
        yield chunk


def _save_stream(file, folder: Path, filename: str, limits: Limits) -> Received:
    """Write the stream to disk while hashing it; stop at the byte limit."""
    path, digest, size, head = folder / "original", hashlib.sha256(), 0, b""
    if getattr(file, "too_large", False):
        raise PhotoRefused(filename, "too_many_bytes", limits=limits)
    with path.open("wb") as out:
        for chunk in _chunks(file):
            size += len(chunk)
            if size > limits.file_bytes:
                raise PhotoRefused(filename, "too_many_bytes", limits=limits)
            digest.update(chunk)
            out.write(chunk)
            if len(head) < kinds.HEAD_BYTES:
                head += chunk[: kinds.HEAD_BYTES]
    if size == 0:
        raise PhotoRefused(filename, "empty")
    kind = kinds.kind_of(head)
    if kind is None:
        raise PhotoRefused(filename, "unknown_kind")
    if kind in kinds.UNREADABLE:
        raise PhotoRefused(filename, kinds.UNREADABLE[kind])
    media_type = kinds.media_type(kind, head)
    return Received(path, digest.hexdigest(), size, kind, media_type)


def _known_original(digest: str) -> Original | None:
    """The row of bytes that were taken in before and are still kept."""
    return Original.objects.filter(digest=digest, deleted_at=None).first()


def _examine(received: Received, folder: Path, filename: str) -> Original:
    """Decode the whole picture under limits, make its sizes, and describe it as an unsaved row."""
    large, small = folder / "large.jpg", folder / "small.jpg"
    try:
        found = decode(received.path, received.kind, large, small)
    except DecodingError as error:
        raise PhotoRefused(filename, error.problem, error.details) from error
    original = Original(
        digest=received.digest,
        byte_size=received.byte_size,
        media_type=received.media_type,
        width_px=found["width_px"],
        height_px=found["height_px"],
        orientation=found["orientation"],
        frames=found["frames"],
        received_at=clock.now(),
        metadata={**found["facts"], "notes": found["notes"]},
    )
    if found["fingerprint"] is not None:
        original.fingerprint = fingerprint.to_signed(found["fingerprint"])
    try:
        sizes.put_sizes(original, large, small)
        original.sizes_made_at = original.received_at
    except store.StoreError as error:  # they can be made again: the original matters
        original.sizes_error = str(error)[:200]
    return original


def keep(stage: Staged, *, site: Site, uploaded_by, photo_id=None) -> tuple[Photo, bool]:
    """Write the rows of a staged photo, in the caller's transaction: the photo, and if it is new.

    Raises ``PhotoRefused`` when ``photo_id`` is already another photo, and for the moment while
    the same bytes are being deleted.
    """
    row = _keep_original(stage)
    photo, made = Photo.objects.get_or_create(
        id=photo_id or uuid.uuid4(),
        defaults={
            "site": site,
            "original": row,
            "uploaded_by": uploaded_by,
            "filename": stage.filename,
            "received_at": clock.now(),
            **camera_fields(row.metadata),
        },
    )
    sender = uploaded_by.pk if uploaded_by else None
    same = (photo.site_id, photo.original_id, photo.uploaded_by_id) == (site.pk, row.pk, sender)
    if not made and (not same or photo.is_removed):
        raise PhotoRefused(stage.filename, "id_taken")
    return photo, made


def _keep_original(stage: Staged) -> Original:
    """The row of the bytes: new, known already, or brought back after a deletion."""
    original, received = stage.original, stage.received
    row = Original.objects.select_for_update().filter(digest=received.digest).first()
    if row is None:
        row, made = Original.objects.get_or_create(
            digest=original.digest, defaults=_values(original)
        )
        if made:
            fingerprint.index(row)
            _mark_if_it_waits(row)
    elif row.is_deleted:
        if deleting.is_under_way(row.digest):
            raise PhotoRefused(stage.filename, "storage")
        # A deletion may have run since the first put.
        store.put(received.path, row.storage_name, may_wait=True)
        _mark_if_it_waits(row)
        for name, value in _values(original).items():  # what the deletion emptied is known again
            setattr(row, name, value)
        row.deleted_at = None
        row.save()
        fingerprint.index(row)
    return row


def _mark_if_it_waits(row: Original) -> None:
    """Say so where the bytes lie on this machine only. Those known before are in the store."""
    if not store.is_local() and spool.holds(row.storage_name):
        spool.mark(row)


def _values(original: Original) -> dict:
    return {
        field.attname: getattr(original, field.attname)
        for field in Original._meta.concrete_fields
        if not field.primary_key
    }


def camera_fields(facts: dict) -> dict:
    """The columns of ``Photo`` that hold what the camera said."""
    local, offset = facts.get("taken_at_local", ""), facts.get("taken_offset", "")
    return {
        "taken_at_local": local,
        "taken_offset": offset,
        "taken_at": metadata.aware_time(local, offset),
        "camera_make": facts.get("make", "")[:80],
        "camera_model": facts.get("model", "")[:80],
        "software": facts.get("software", "")[:120],
        "latitude": facts.get("latitude"),
        "longitude": facts.get("longitude"),
    }

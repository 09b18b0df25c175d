"""What people do with photos: add, discard, delete for good, mark up, measure, line up."""

import hashlib
import json
from datetime import timedelta

from django.core.exceptions import PermissionDenied
from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_owner, require_visible
from readiness.actions.record import append
from readiness.models import (
    FingerprintBand,
    Original,
    Photo,
    Site,
    User,
)
from readiness.photos import intake, sizes, store

UNATTACHED_KEPT_FOR = timedelta(days=1)


def add_photo(actor: User, site: Site, file, *, photo_id=None, filename: str = "") -> Photo:
    """Take a photo in and give it its place in the site's Record.

    The same ``photo_id`` sent twice is one photo and one entry. The slow part (receiving and
    decoding) happens before the transaction. Raises ``PhotoRefused`` for a bad file.
    """
    require_visible(actor, site)
    with intake.staged(file, filename) as stage, transaction.atomic():
        photo, made = intake.keep(stage, site=site, uploaded_by=actor, photo_id=photo_id)
        if made:
            append(site, actor, "photo_added", photo_data(photo), at=photo.received_at)
    return photo


def photo_data(photo: Photo) -> dict:
    """What the Record keeps of a photo: which bytes, when received, what the camera said."""
    original = photo.original
    return {
        "photo": str(photo.pk),
        "sha256": original.digest,
        "bytes": original.byte_size,
        "media_type": original.media_type,
        "width_px": original.width_px,
        "height_px": original.height_px,
        "received_at": photo.received_at.isoformat(timespec="microseconds"),
        "camera_said_local": photo.taken_at_local,
        "camera_said_offset": photo.taken_offset,
    }


def discard_photo(actor: User, photo: Photo) -> None:
    """Take an upload back that belongs to nothing yet; only the person who sent it can."""
    require_visible(actor, photo.site)
    if photo.uploaded_by_id != actor.pk:
        raise PermissionDenied("Only the person who sent a photo can take it back.")
    if photo.is_attached:
        raise Refused("This photo is part of the record now and stays in it.")
    _remove(actor, photo, "taken back before it was used")


def remove_photo(actor: User, photo: Photo, reason: str) -> None:
    """Delete a photo for good: its bytes go, its entry in the Record and its digest stay.

    Only the owner of the business can, and has to say why.
    """
    require_owner(actor)
    if not reason.strip():
        raise Refused("Say why the photo is deleted: the reason stays in the record.")
    _remove(actor, photo, reason.strip())


def sweep_unattached(*, older_than: timedelta = UNATTACHED_KEPT_FOR) -> list[Photo]:
    """Remove uploads whose form was never saved; returns those removed."""
    waiting = Photo.objects.unattached().filter(received_at__lt=clock.now() - older_than)
    swept = list(waiting.select_related("site"))
    for photo in swept:
        _remove(None, photo, "sent, but never used")
    return swept


def _remove(actor: User | None, photo: Photo, reason: str) -> None:
    """Mark the photo removed and record it; delete the bytes when no other photo needs them."""
    with transaction.atomic():
        photo = Photo.objects.select_for_update(of=("self",)).get(pk=photo.pk)
        if photo.is_removed:
            return
        photo.removed_at = clock.now()
        photo.latitude = photo.longitude = None
        photo.save(update_fields=["removed_at", "latitude", "longitude"])
        data = {"photo": str(photo.pk), "sha256": photo.original_id, "reason": reason}
        append(photo.site, actor, "photo_removed", data)
        original = Original.objects.select_for_update().get(pk=photo.original_id)
        last = not Photo.objects.kept().filter(original=original).exists()
        if last:
            original.deleted_at, original.sizes_made_at = clock.now(), None
            original.metadata, original.fingerprint = {}, None
            original.save()
            FingerprintBand.objects.filter(original=original).delete()
    if last:
        transaction.on_commit(lambda: _delete_bytes(original.pk))


def _delete_bytes(digest: str) -> None:
    """Delete a deleted original's files, unless the same bytes were sent again meanwhile."""
    with transaction.atomic():
        original = Original.objects.select_for_update().get(pk=digest)
        if original.is_deleted:
            store.delete(original.storage_name)
            sizes.drop_sizes(original)


def data_digest(data) -> str:
    """SHA-256 (hex) of JSON with sorted keys, to stand for marks in the Record."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()

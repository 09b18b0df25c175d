"""What people do with photos: add, discard, delete for good, mark up, measure, line up."""

import hashlib
import json
import logging
import uuid
from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction

from readiness import clock
from readiness.actions import limits
from readiness.actions.errors import Refused
from readiness.actions.permission import may_act, require_applicator, require_owner, require_visible
from readiness.actions.reporting.drafts import change_item
from readiness.actions.sites.sites import set_levels
from readiness.evidence.record import append, lock_site
from readiness.facts import rule_values, run_facts
from readiness.models import (
    Business,
    FingerprintBand,
    Fix,
    Markup,
    Original,
    Photo,
    PhotoMeasurement,
    Site,
    User,
    WallRun,
)
from readiness.models.verbs import Verb
from readiness.photos import deleting, intake, store
from readiness.photos.by_courses import Gauge
from readiness.photos.marks_sent import FIELDS
from readiness.photos.markup import MarkupError, clean_point, clean_shapes
from readiness.photos.measurements import Result, work_out
from readiness.rules.band import geometry
from readiness.rules.band.believable import gauge_problem
from readiness.wording import photos as say
from readiness.wording.believable import unbelievable
from readiness.wording.refusals import measuring
from readiness.wording.refusals import photos as refusals

log = logging.getLogger(__name__)

UNATTACHED_KEPT_FOR = timedelta(days=1)
LEFT_BYTES_LOOKED_FOR = timedelta(days=60)
JUST_WRITTEN_SECONDS = 3600


def add_photo(actor: User, site: Site, file, *, photo_id=None, filename: str = "") -> Photo:
    """Take a photo in and give it its place in the site's Record.

    The same ``photo_id`` sent twice is one photo and one entry. The slow part (receiving and
    decoding) happens before the transaction. Raises ``PhotoRefused`` for a bad file.
    """
    require_visible(actor, site)
    limits.require_room_for_a_photo(actor, intake.clean_name(filename), photo_id)
    with intake.staged(file, filename) as stage, transaction.atomic():
        photo, made = intake.keep(stage, site=site, uploaded_by=actor, photo_id=photo_id)
        if made:
            data, at = photo_data(photo), photo.received_at
            append(site, actor, Verb.PHOTO_ADDED, data, at=at, rows=[photo])
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
        **({"said_in_xmp": photo.taken_from} if photo.taken_from else {}),
    }


def discard_photo(actor: User, photo: Photo) -> None:
    """Take an upload back that belongs to nothing yet; only the person who sent it can."""
    require_visible(actor, photo.site)
    if photo.uploaded_by_id != actor.pk:
        raise PermissionDenied(refusals.not_your_photo())
    if photo.is_attached:
        raise Refused(refusals.photo_in_record())
    _remove(actor, photo, say.taken_back())


def remove_photo(actor: User, photo: Photo, reason: str) -> None:
    """Delete a photo for good: its bytes go, its entry in the Record and its digest stay.

    Only the owner of the business can, and has to say why.
    """
    require_owner(actor)
    if not reason.strip():
        raise Refused(refusals.no_reason_to_delete())
    _remove(actor, photo, reason.strip())


def sweep_unattached(*, older_than: timedelta = UNATTACHED_KEPT_FOR) -> list[Photo]:
    """Remove uploads whose form was never saved; returns those removed."""
    waiting = Photo.objects.unattached().filter(received_at__lt=clock.now() - older_than)
    swept = list(waiting.select_related("site"))
    for photo in swept:
        _remove(None, photo, say.never_used())
    return swept


def past_retention():
    """Photos of closed sites that are older than the business keeps them. Nothing deletes them
    by itself.
    """
    years = Business.current().retention_years
    before = clock.now() - timedelta(days=365.25 * years)
    return Photo.objects.kept().filter(received_at__lt=before, site__closed_at__lt=before)


def _remove(actor: User | None, photo: Photo, reason: str) -> None:
    """Mark the photo removed and record it; delete the bytes when no other photo needs them."""
    with transaction.atomic():
        photo = Photo.objects.select_for_update(of=("self",)).get(pk=photo.pk)
        if photo.is_removed:
            return
        photo.removed_at = clock.now()
        photo.latitude = photo.longitude = None
        photo.save(update_fields=["removed_at", "latitude", "longitude"])
        data = {"photo": str(photo.pk), "sha256": photo.original_id}
        said = {"reason": reason}
        append(photo.site, actor, Verb.PHOTO_REMOVED, data, rows=[photo], said=said)
        original = Original.objects.select_for_update().get(pk=photo.original_id)
        last = not Photo.objects.kept().filter(original=original).exists()
        if last:
            original.deleted_at, original.sizes_made_at = clock.now(), None
            original.metadata, original.fingerprint = {}, None
            original.save()
            FingerprintBand.objects.filter(original=original).delete()
    if last:
        transaction.on_commit(lambda: _delete_bytes_now_or_later(original.pk))


def _delete_bytes_now_or_later(digest: str) -> None:
    """A store that does not answer is asked again by `delete_left_bytes`."""
    try:
        deleting.delete_files(digest)
    except OSError as error:
        log.warning("The bytes of %s could not be deleted yet: %s", digest, error)


def delete_left_bytes() -> int:
    """Delete what is still there of originals deleted lately; returns of how many.

    The store was silent when they were deleted, or the process ended between row and bytes. What
    was written within the hour is left alone: the same bytes may be on their way in again.
    """
    since = clock.now() - LEFT_BYTES_LOOKED_FOR
    left = 0
    for original in Original.objects.filter(deleted_at__gte=since).order_by("deleted_at"):
        name = original.storage_name
        if store.exists(name) and store.age_seconds(name) >= JUST_WRITTEN_SECONDS:
            left += deleting.delete_files(original.pk)
    return left


@transaction.atomic
def save_markup(actor: User, photo: Photo, shapes, *, seen_version: int) -> Markup:
    """Keep the shapes drawn over a photo. The original stays as it is.

    ``seen_version`` is the version that the person started from (0 when there was none). Sending
    the same shapes again changes nothing. Raises ``MarkupError`` for shapes that make no sense and
    ``StaleMarkup`` when somebody else saved meanwhile.
    """
    require_applicator(actor)
    cleaned = clean_shapes(shapes)
    lock_site(photo.site_id)
    markup = Markup.objects.select_for_update().filter(photo=photo).first()
    if markup is None:
        markup = Markup(photo=photo, version=0)
    if markup.version and markup.shapes == cleaned:
        return markup
    if markup.version != seen_version:
        raise StaleMarkup(markup)
    _keep_marks(actor, markup, cleaned)
    _blur_twins(actor, photo, [shape for shape in cleaned if shape["kind"] == "blur"])
    return markup


def _keep_marks(actor: User, markup: Markup, shapes: list[dict]) -> None:
    """Save the shapes as the next version, with an entry in the Record."""
    before = markup.blurs
    markup.shapes, markup.version = shapes, markup.version + 1
    markup.updated_at, markup.updated_by = clock.now(), actor
    if any(blur not in before for blur in markup.blurs):
        markup.blurred_at = markup.updated_at
    markup.save()
    photo = markup.photo
    data = {
        "photo": str(photo.pk),
        "sha256": photo.original_id,
        "version": markup.version,
        "marks": len(shapes),
        "marks_sha256": data_digest(shapes),
    }
    append(photo.site, actor, Verb.PHOTO_MARKED, data, rows=[markup])


def _blur_twins(actor: User, photo: Photo, blurs: list[dict]) -> None:
    """What is blurred in one photo is blurred wherever the site shows the same file."""
    twins = Photo.objects.kept().filter(site=photo.site_id, original=photo.original_id)
    for twin in twins.exclude(pk=photo.pk) if blurs else ():
        markup = Markup.objects.filter(photo=twin).first() or Markup(photo=twin, version=0)
        missing = [blur for blur in blurs if blur not in markup.shapes]
        if missing:
            _keep_marks(actor, markup, [*markup.shapes, *missing])


class StaleMarkup(Exception):
    """Somebody else saved the marks of this photo first; ``markup`` is theirs."""

    def __init__(self, markup: Markup):
        self.markup = markup
        super().__init__(refusals.marks_changed())


def save_measurement(
    actor: User,
    photo: Photo,
    data: dict,
    *,
    measurement_id=None,
    fill_item: bool = False,
    gauge_of: WallRun | None = None,
) -> PhotoMeasurement:
    """Work a measurement out from its marks and keep it; the same id sent twice is one.

    With ``fill_item`` it becomes the measured value of the photo's item, marked as measured from
    the photo; that needs a draft report. With ``gauge_of`` the measured gauge becomes that wall's,
    marked as from a photo. Raises ``CannotMeasure``, ``NotNow`` or ``Refused``.
    """
    require_applicator(actor)
    known = PhotoMeasurement.objects.filter(pk=measurement_id).first() if measurement_id else None
    if known:
        if known.photo_id != photo.pk:
            raise Refused(measuring.measurement_of_another_photo())
        return known
    result = work_out(photo, data, rule_values())  # it may look at the picture: nothing is locked
    with transaction.atomic():
        measurement = _keep_measurement(actor, photo, data, result, measurement_id or uuid.uuid4())
        if gauge_of is not None:
            _take_gauge(actor, photo, gauge_of, result.gauge)
        elif fill_item:
            _fill_item(actor, photo, measurement)
    return measurement


def _keep_measurement(
    actor: User, photo: Photo, data: dict, result: Result, measurement_id: uuid.UUID
) -> PhotoMeasurement:
    """The measurement with its entry in the Record."""
    measurement = PhotoMeasurement.objects.create(
        id=measurement_id,
        photo=photo,
        item=photo.item,
        marks={name: data[name] for name in FIELDS if name in data},
        value_mm=result.measured.value_mm,
        uncertainty_mm=result.measured.uncertainty_mm,
        reference=result.reference[:200],
        made_by=actor,
        made_at=clock.now(),
    )
    append(
        photo.site,
        actor,
        Verb.PHOTO_MEASURED,
        {
            "photo": str(photo.pk),
            "sha256": photo.original_id,
            "measurement": str(measurement.pk),
            "value_mm": measurement.value_mm,
            "uncertainty_mm": measurement.uncertainty_mm,
            "reference": measurement.reference,
        },
        rows=[measurement],
    )
    return measurement


def _take_gauge(actor: User, photo: Photo, run: WallRun, measured: Gauge | None) -> None:
    """Make the gauge that was measured the gauge of a brick wall of the photo's site."""
    if run.site_id != photo.site_id or run.removed_at or run_facts(run).is_rendered:
        raise Refused(measuring.no_gauge_on_this_wall())
    if measured is None or not measured.good_enough:
        raise Refused(measuring.gauge_not_exact_enough())
    height_mm = measured.height.value_mm
    found = gauge_problem(measured.courses, height_mm)
    if found is not None:
        raise Refused(unbelievable(found))
    gauge = geometry.Gauge(measured.courses, height_mm, measured=True, from_photo=True)
    set_levels(actor, run, replace(run_facts(run), gauge=gauge).levels_as_dict())


def _fill_item(actor: User, photo: Photo, measurement: PhotoMeasurement) -> None:
    """Make the measurement its item's value, and its required fix say it if nobody edited that."""
    item = photo.item
    spec = item.kind_entry.measurement if item else None
    if item is None or spec is None or spec.unit != "mm":
        raise Refused(measuring.item_takes_no_mm())
    if not spec.minimum <= measurement.value_mm <= spec.maximum:
        text = measuring.value_unbelievable(
            measurement.value_mm, spec.label, spec.minimum, spec.maximum
        )
        raise Refused(text)
    fields: dict[str, Any] = {
        "measured_value": measurement.value_mm,
        "measured_from": item.MeasuredFrom.PHOTO,
        "measured_uncertainty": measurement.uncertainty_mm,
    }
    extent, values = {"from_mm": item.from_mm, "to_mm": item.to_mm}, rule_values()
    usual = item.kind_entry.required_fix(values, measured=item.measured_value, **extent)
    if item.required_fix == usual:
        fields["required_fix"] = item.kind_entry.required_fix(
            values, measured=measurement.value_mm, **extent
        )
    change_item(actor, item, **fields)


@transaction.atomic
def line_up_photos(actor: User, photo: Photo, before: Photo, pairs) -> Photo:
    """Keep which points of a before photo are the same places as points of a later one.

    ``pairs`` are two or three pairs ``[[x, y] in before, [x, y] in photo]``, as fractions. The same
    pairs again are no entry of their own.
    """
    require_visible(actor, photo.site)
    lock_site(photo.site_id)
    if not may_line_up(actor, photo):
        raise PermissionDenied(refusals.not_yours_to_line_up())
    if before.site_id != photo.site_id or before.pk == photo.pk:
        raise Refused(refusals.same_photo_or_other_site())
    if not isinstance(pairs, list) or not 2 <= len(pairs) <= 3:
        raise Refused(refusals.too_few_places())
    try:
        cleaned = [[clean_point(one), clean_point(other)] for one, other in pairs]
    except (MarkupError, TypeError, ValueError) as error:
        raise Refused(refusals.too_few_places()) from error
    if (photo.before_id, photo.alignment) == (before.pk, cleaned):
        return photo
    photo.before, photo.alignment = before, cleaned
    photo.save(update_fields=["before", "alignment"])
    data = {
        "photo": str(photo.pk),
        "sha256": photo.original_id,
        "before": str(before.pk),
        "before_sha256": before.original_id,
        "pairs": len(cleaned),
        "pairs_sha256": data_digest(cleaned),
    }
    append(photo.site, actor, Verb.PHOTOS_LINED_UP, data, rows=[photo])
    return photo


def may_line_up(user: User, photo: Photo) -> bool:
    """The applicator's staff; a contact who does not only read, with a photo of their own that
    nobody has reviewed yet.

    How before and after lie over each other is part of what a review saw.
    """
    if user.is_applicator:
        return user.is_active
    if photo.uploaded_by_id != user.pk or not may_act(user, photo.site):
        return False
    return not Fix.objects.filter(photos=photo, reviewed_at__isnull=False).exists()


def data_digest(data) -> str:
    """SHA-256 (hex) of JSON with sorted keys, to stand for marks in the Record."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()

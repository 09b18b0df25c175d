"""Checking photos that show a fix: what a reviewer should know, in plain sentences.

Nothing here refuses a photo. A missing fact is said to be missing; where the camera gave no
offset from UTC its time is read in the site's own zone, and the sentence says so.
"""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import asin, cos, radians, sin, sqrt

from django.db import transaction

from readiness.models import Photo, PhotoFlag
from readiness.photos import fingerprint
from readiness.wording import photos as say

LONG_BEFORE = timedelta(hours=48)
CLOCK_SLACK = timedelta(minutes=10)
# Without an offset a camera that was carried between zones may be some hours off.
ZONELESS_SLACK = timedelta(hours=3)
FAR_METRES = 300
EARTH_RADIUS_M = 6_371_000
EDIT_SLACK = timedelta(minutes=1)
EDITOR_WORDS = re.compile(r"photo|edit|paint|draw|retouch|studio", re.IGNORECASE)
SCREENSHOT_WORDS = re.compile(r"screen[ _-]?(shot|grab|cap)", re.IGNORECASE)

Code = PhotoFlag.Code


@dataclass(frozen=True)
class CameraTime:
    """When the photo was taken as far as the file says, and how that is known."""

    at: datetime
    source: str
    slack: timedelta

    def words(self, zone) -> str:
        return say.taken(self.at.astimezone(zone), self.source)


def camera_time(photo: Photo) -> CameraTime | None:
    """Satellite time first (it is UTC), then clock and offset, then the clock alone."""
    facts = photo.original.metadata
    satellite = facts.get("gps_time", "")
    if satellite:
        return CameraTime(datetime.fromisoformat(satellite), say.by_satellite(), CLOCK_SLACK)
    source = say.by_xmp() if facts.get("taken_from") else say.by_camera()
    if photo.taken_at:
        return CameraTime(photo.taken_at, source, CLOCK_SLACK)
    if not photo.taken_at_local:
        return None
    local = datetime.fromisoformat(photo.taken_at_local).replace(tzinfo=photo.site.zone)
    return CameraTime(local, say.in_site_time(source), ZONELESS_SLACK)


def fix_flags(photo: Photo, *, report_issued_at: datetime | None) -> list[PhotoFlag]:
    """Unsaved flags of a photo that shows a fix of an item of a report issued at that time."""
    return [
        *_copies(photo),
        *_times(photo, report_issued_at),
        *_place(photo),
        *_changed(photo),
    ]


@transaction.atomic
def check_fix_photo(photo: Photo) -> list[PhotoFlag]:
    """Work out the flags of a fix photo anew and keep them."""
    flags = fix_flags(photo, report_issued_at=photo.fix.item.report.issued_at)
    PhotoFlag.objects.filter(photo=photo).delete()
    return PhotoFlag.objects.bulk_create(flags)


def _flag(photo: Photo, code: str, sentence: str, other: Photo | None = None) -> PhotoFlag:
    return PhotoFlag(photo=photo, code=code, sentence=sentence, other_photo=other)


def _earlier(photo: Photo, digests: list[str]) -> Photo | None:
    """The first photo of the business with one of these originals, sent before this one."""
    return (
        Photo.objects.filter(original__in=digests, received_at__lte=photo.received_at)
        .exclude(pk=photo.pk)
        .exclude(fix__isnull=False, fix=photo.fix_id)
        .select_related("site", "item", "fix__item")
        .order_by("received_at", "id")
        .first()
    )


def _copies(photo: Photo) -> list[PhotoFlag]:
    same = _earlier(photo, [photo.original_id])
    if same:
        return [_flag(photo, Code.SAME_FILE, say.same_file(shown(same)), same)]
    if photo.original.fingerprint is None:
        return []
    near = [digest for digest, _bits in fingerprint.near(photo.original.fingerprint)]
    other = _earlier(photo, [digest for digest in near if digest != photo.original_id])
    if other is None:
        return []
    sentence = say.near_duplicate(shown(other))
    if photo.fix and other.item_id == photo.fix.item_id:
        sentence = say.near_defect_photo(other.received_at.astimezone(photo.site.zone))
    return [_flag(photo, Code.NEAR_DUPLICATE, sentence, other)]


def shown(photo: Photo) -> str:
    """What an earlier photo was sent for, in words."""
    item = photo.item or (photo.fix.item if photo.fix else None)
    at = photo.received_at.astimezone(photo.site.zone)
    return say.sent_for(item.number if item else None, str(photo.site), at)


def _times(photo: Photo, report_issued_at: datetime | None) -> list[PhotoFlag]:
    zone, taken = photo.site.zone, camera_time(photo)
    if taken is None:
        return [_flag(photo, Code.NO_CAPTURE_TIME, say.no_capture_time())]
    flags = []
    if report_issued_at and taken.at + taken.slack < report_issued_at:
        issued = report_issued_at.astimezone(zone)
        sentence = say.taken_before_report(issued, taken.words(zone))
        flags.append(_flag(photo, Code.TAKEN_BEFORE_REPORT, sentence))
    if photo.received_at - taken.at > LONG_BEFORE + taken.slack:
        days = (photo.received_at - taken.at).days
        sentence = say.sent_late(days, taken.words(zone))
        flags.append(_flag(photo, Code.TAKEN_LONG_BEFORE_UPLOAD, sentence))
    if taken.at - photo.received_at > taken.slack:
        sentence = say.clock_ahead(taken.words(zone))
        flags.append(_flag(photo, Code.TAKEN_AFTER_UPLOAD, sentence))
    return flags


def metres_between(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Great-circle distance in metres between (latitude, longitude) pairs in degrees."""
    lat1, lon1, lat2, lon2 = map(radians, (*one, *other))
    half = sin((lat2 - lat1) / 2) ** 2 + cos(lat1) * cos(lat2) * sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_RADIUS_M * asin(sqrt(half))


def _place(photo: Photo) -> list[PhotoFlag]:
    site = photo.site
    if photo.latitude is None or site.latitude is None:
        return []
    metres = metres_between(
        (float(site.latitude), float(site.longitude)),
        (float(photo.latitude), float(photo.longitude)),
    )
    error_m = photo.original.metadata.get("position_error_m") or 0
    if metres <= FAR_METRES + 2 * error_m:
        return []
    return [_flag(photo, Code.FAR_FROM_SITE, say.far_away(metres))]


def _changed(photo: Photo) -> list[PhotoFlag]:
    facts = photo.original.metadata
    is_shot = (
        SCREENSHOT_WORDS.search(facts.get("comment", ""))
        or SCREENSHOT_WORDS.search(photo.filename)
        or (photo.original.media_type == "image/png" and not photo.camera_model)
    )
    if is_shot:
        words = say.screenshot_by_name if photo.camera_model else say.screenshot_by_form
        return [_flag(photo, Code.SCREENSHOT, words())]
    editor = facts.get("editor", "")
    if not editor and EDITOR_WORDS.search(photo.software):
        editor = photo.software
    if editor:
        return [_flag(photo, Code.EDITED, say.edited(editor))]
    taken, changed = photo.taken_at_local, facts.get("changed_at_local", "")
    if taken and changed:
        later = datetime.fromisoformat(changed) - datetime.fromisoformat(taken)
        if later > EDIT_SLACK:
            return [_flag(photo, Code.EDITED, say.changed(datetime.fromisoformat(changed)))]
    return []

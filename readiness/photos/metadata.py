"""What the camera said: capture time, offset from UTC, camera, software, position.

Tag numbers are those of CIPA DC-008 (Exif). A value that is missing or makes no sense is left
out; nothing is guessed. This module needs neither Django nor the picture's pixels.
"""

import re
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal, InvalidOperation

from readiness.photos import xmp as xmp_packets

MAKE, MODEL, SOFTWARE, DATE_TIME, ORIENTATION = 271, 272, 305, 306, 274
PROCESSING_SOFTWARE, HOST_COMPUTER = 11, 316
EXIF_IFD, GPS_IFD = 34665, 34853
TIME_ORIGINAL, TIME_DIGITIZED = 36867, 36868
OFFSET, OFFSET_ORIGINAL, OFFSET_DIGITIZED = 36880, 36881, 36882
SUBSECOND_ORIGINAL, USER_COMMENT, LENS_MODEL, FOCAL_LENGTH, FOCAL_LENGTH_35 = (
    37521,
    37510,
    42036,
    37386,
    41989,
)
GPS_LATITUDE_REF, GPS_LATITUDE, GPS_LONGITUDE_REF, GPS_LONGITUDE = 1, 2, 3, 4
GPS_TIME, GPS_ERROR_M, GPS_DATE = 7, 31, 29

TEXT_LIMIT = 120
OFFSET_PATTERN = re.compile(r"^[+-](0\d|1[0-4]):[0-5]\d$")
CREATOR_TOOL = re.compile(rb"CreatorTool(?:>|=[\"'])([^<\"']{1,120})")


def text(value) -> str:
    """A tag's value as one printable line of at most 120 characters; control characters go."""
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    if not isinstance(value, str):
        return ""
    printable = "".join(c if c.isprintable() else " " for c in value.split("\x00")[0])
    return " ".join(printable.split())[:TEXT_LIMIT]


def local_time(value) -> str:
    """``2026:03:04 09:10:11`` as ``2026-03-04T09:10:11``; empty when it is no real time."""
    try:
        return datetime.strptime(text(value), "%Y:%m:%d %H:%M:%S").isoformat()
    except ValueError:
        return ""


def offset(value) -> str:
    """An offset tag such as ``+10:00``; empty when absent or malformed."""
    candidate = text(value)
    return candidate if OFFSET_PATTERN.match(candidate) else ""


def aware_time(local: str, offset_text: str) -> datetime | None:
    """The capture time in UTC, only when the camera gave both its local time and its offset."""
    if not offset_text:
        return None
    sign = -1 if offset_text[0] == "-" else 1
    hours, minutes = offset_text[1:].split(":")
    zone = timezone(sign * timedelta(hours=int(hours), minutes=int(minutes)))
    try:
        return datetime.fromisoformat(local).replace(tzinfo=zone).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def degrees(parts, reference, limit: int) -> Decimal | None:
    """Degrees, minutes, seconds and N/S/E/W as signed decimal degrees to six places."""
    try:
        whole, minutes, seconds = (Decimal(str(float(part))) for part in parts)
        value = whole + minutes / 60 + seconds / 3600
        value = value.quantize(Decimal("0.000001"))
    except (TypeError, ValueError, ZeroDivisionError, InvalidOperation, OverflowError):
        return None
    letter = text(reference).upper()[:1]
    if letter not in ("N", "S", "E", "W") or not 0 <= value <= limit:
        return None
    return -value if letter in ("S", "W") else value


def position(gps: dict) -> tuple[Decimal, Decimal] | None:
    """Latitude and longitude in degrees, or None; exactly 0, 0 is a camera without a fix."""
    latitude = degrees(gps.get(GPS_LATITUDE), gps.get(GPS_LATITUDE_REF), 90)
    longitude = degrees(gps.get(GPS_LONGITUDE), gps.get(GPS_LONGITUDE_REF), 180)
    if latitude is None or longitude is None or (latitude == 0 and longitude == 0):
        return None
    return latitude, longitude


def gps_time(gps: dict) -> str:
    """The satellite time, which is UTC by definition, as ISO text; empty when absent."""
    try:
        date = datetime.strptime(text(gps.get(GPS_DATE)), "%Y:%m:%d")
        hours, minutes, seconds = (float(part) for part in gps[GPS_TIME])
        time = date + timedelta(hours=hours, minutes=minutes, seconds=int(seconds))
    except (KeyError, TypeError, ValueError, ZeroDivisionError, OverflowError):
        return ""
    return time.replace(tzinfo=UTC).isoformat()


def number(value) -> float | None:
    try:
        result = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return result if 0 < result < 1e6 else None


def from_exif(exif, xmp: bytes = b"") -> dict:
    """The facts of ``PIL.Image.Exif`` and an XMP packet as plain JSON values.

    Keys: ``taken_at_local``, ``taken_offset``, ``taken_from`` (the XMP property that gave the
    time, where Exif gave none), ``gps_time``, ``make``, ``model``, ``software``, ``editor``,
    ``comment``, ``lens``, ``focal_mm``, ``focal_35_mm``, ``latitude``, ``longitude``,
    ``position_error_m``. Absent facts have no key.
    """
    inner, gps = _ifd(exif, EXIF_IFD), _ifd(exif, GPS_IFD)
    local, zone = local_time(inner.get(TIME_ORIGINAL)), offset(inner.get(OFFSET_ORIGINAL))
    if not local:
        local, zone = local_time(inner.get(TIME_DIGITIZED)), offset(inner.get(OFFSET_DIGITIZED))
    told_by = ""
    if not local:
        said, zone, told_by = xmp_packets.capture_time(xmp)
        local, zone = local_time(said), offset(zone)
    tool = CREATOR_TOOL.search(xmp[:200_000])
    facts = {
        "taken_at_local": local,
        "taken_offset": zone if local else "",
        "taken_from": told_by if local else "",
        "changed_at_local": local_time(exif.get(DATE_TIME)),
        "gps_time": gps_time(gps),
        "make": text(exif.get(MAKE)),
        "model": text(exif.get(MODEL)),
        "software": text(exif.get(SOFTWARE)),
        "editor": text(exif.get(PROCESSING_SOFTWARE)) or (text(tool[1]) if tool else ""),
        "comment": _comment(inner.get(USER_COMMENT)),
        "lens": text(inner.get(LENS_MODEL)),
        "focal_mm": number(inner.get(FOCAL_LENGTH)),
        "focal_35_mm": number(inner.get(FOCAL_LENGTH_35)),
        "position_error_m": number(gps.get(GPS_ERROR_M)),
    }
    place = position(gps)
    if place:
        facts["latitude"], facts["longitude"] = str(place[0]), str(place[1])
    return {name: value for name, value in facts.items() if value not in ("", None)}


def _ifd(exif, tag: int) -> dict:
    try:
        return dict(exif.get_ifd(tag))
    except Exception:  # a malformed directory can fail in many ways; it only costs its own facts
        return {}


def _comment(value) -> str:
    """UserComment starts with eight bytes that name its character code (Exif 4.6.5)."""
    if isinstance(value, bytes) and value[:8] in (b"ASCII\0\0\0", b"UNICODE\0", b"\0" * 8):
        value = value[8:].replace(b"\0", b"")
    return text(value)

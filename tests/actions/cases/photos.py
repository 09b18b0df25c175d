"""What people do with photos."""

import io
from datetime import timedelta

from readiness import clock
from readiness.actions.photos import keeping
from tests.actions.cases.base import (
    ARROW,
    BLUR,
    MARKS,
    NOW,
    Case,
    as_found,
    case,
    of,
)
from tests.factories import (
    make_item,
    make_photo,
)
from tests.photos.pictures import jpeg


@case(keeping.add_photo, "photo_added")
def _(cast):
    content = jpeg(taken="2026:11:20 08:30:00", offset="+11:00")
    return Case(
        lambda: keeping.add_photo(cast.contact, cast.site, io.BytesIO(content)),
        cast.contact,
        lambda photo: [
            {
                **of(photo),
                "bytes": len(content),
                "media_type": "image/jpeg",
                "width_px": photo.original.width_px,
                "height_px": photo.original.height_px,
                "received_at": NOW.isoformat(timespec="microseconds"),
                "camera_said_local": "2026-11-20T08:30:00",
                "camera_said_offset": "+11:00",
            }
        ],
    )


def removed(photo, reason: str) -> dict:
    return {**of(photo), "reason": reason}


@case(keeping.discard_photo, "photo_removed")
def _(cast):
    photo = make_photo(cast.site, cast.contact)
    return Case(
        lambda: keeping.discard_photo(cast.contact, photo),
        cast.contact,
        lambda _none: [removed(photo, "taken back before it was used")],
    )


@case(keeping.remove_photo, "photo_removed")
def _(cast):
    photo = cast.photo()
    return Case(
        lambda: keeping.remove_photo(cast.applicator, photo, " A face "),
        cast.applicator,
        lambda _none: [removed(photo, "A face")],
    )


@case(keeping.sweep_unattached, "photo_removed")
def _(cast):
    with clock.at(NOW - timedelta(days=2)):
        photo = make_photo(cast.site, cast.contact)
    return Case(
        lambda: not keeping.sweep_unattached(),
        None,
        lambda _swept: [removed(photo, "sent, but never used")],
    )


def marked(photo, version: int, shapes: list) -> dict:
    digest = keeping.data_digest(shapes)
    data = {**of(photo), "version": version, "marks": len(shapes), "marks_sha256": digest}
    return data


@case(keeping.save_markup, "photo_marked", "photo_marked")
def _(cast):
    photo = cast.photo()
    twin = make_photo(photo.site, photo.uploaded_by, photo.original)
    return Case(
        lambda: keeping.save_markup(cast.applicator, photo, [ARROW, BLUR], seen_version=0),
        cast.applicator,
        lambda markup: [marked(photo, 1, markup.shapes), marked(twin, 1, markup.shapes[1:])],
    )


@case(keeping.save_measurement, "photo_measured", "item_changed")
def _(cast):
    item = make_item(cast.applicator, cast.draft(), kind="soil_against_brick")
    photo = item.photos.get()
    return Case(
        lambda: keeping.save_measurement(cast.applicator, photo, MARKS, fill_item=True),
        cast.applicator,
        lambda made: [
            {
                **of(photo),
                "measurement": str(made.pk),
                # The marks are half as far apart as the corners of 400 mm.
                "value_mm": 200,
                "uncertainty_mm": made.uncertainty_mm,
                "reference": "a thing of known size, 400 x 400 mm, give or take 1",
            },
            as_found(item, measured=200),
        ],
    )


@case(keeping.line_up_photos, "photos_lined_up")
def _(cast):
    before, after = cast.photo(), make_photo(cast.site, cast.contact)
    pairs = [[[0.1, 0.1], [0.2, 0.2]], [[0.8, 0.8], [0.9, 0.9]]]
    return Case(
        lambda: keeping.line_up_photos(cast.contact, after, before, pairs),
        cast.contact,
        lambda _photo: [
            {
                **of(after),
                "before": str(before.pk),
                "before_sha256": before.original_id,
                "pairs": 2,
                "pairs_sha256": keeping.data_digest(pairs),
            }
        ],
    )

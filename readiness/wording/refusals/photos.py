"""Why a photo is not taken in, used, marked, lined up or deleted."""

from __future__ import annotations

from django.utils.translation import gettext as _

# Taking in: each names the file, then what to do


def empty(file: str) -> str:
    return _("“%(file)s” is empty. Take or choose the photo again.") % {"file": file}


def too_many_bytes(file: str, limit: str) -> str:
    """`limit` is the size that one photo may have, with its unit."""
    return _(
        "“%(file)s” is larger than %(limit)s, the limit for one photo. Send it at a smaller size."
    ) % {"file": file, "limit": limit}  # fmt: skip


def unknown_kind(file: str) -> str:
    return _(
        "“%(file)s” is not a photo that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF "
        "file."
    ) % {"file": file}  # fmt: skip


def jpeg_xl(file: str) -> str:
    return _("“%(file)s” is JPEG XL, which can't be read yet. Send it as JPEG or HEIC.") % {
        "file": file
    }


def too_many_pixels(
    file: str, megapixels: float | None, limit_megapixels: int, limit_side_px: int
) -> str:
    """Megapixels are None where the file did not say how many before it was refused."""
    if megapixels is None:
        text = _("“%(file)s” has too many pixels.") % {"file": file}
    else:
        text = _("“%(file)s” has %(found)s megapixels.") % {"file": file, "found": megapixels}
    rest = _(
        "The limit is %(limit)d megapixels and %(side)d pixels a side. Send it at a smaller size."
    ) % {"limit": limit_megapixels, "side": limit_side_px}  # fmt: skip
    return f"{text} {rest}"


def broken(file: str) -> str:
    return _(
        "“%(file)s” is damaged or incomplete, so it can't be kept as evidence. Send it again, or "
        "take the photo again."
    ) % {"file": file}


def too_slow(file: str, limit_seconds: int) -> str:
    return _(
        "“%(file)s” took longer than %(limit)d seconds to open, so it was stopped. Save it as an "
        "ordinary JPEG and send that."
    ) % {"file": file, "limit": limit_seconds}


def too_much_memory(file: str, limit_megabytes: int) -> str:
    return _(
        "“%(file)s” needs more than %(limit)d MB of memory to open. Save it as an ordinary JPEG "
        "and send that."
    ) % {"file": file, "limit": limit_megabytes}


def too_many_files(file: str, limit: int) -> str:
    return _(
        "“%(file)s” was one too many: the limit is %(limit)d photos at once. Send it next."
    ) % {"file": file, "limit": limit}  # fmt: skip


def not_stored(file: str) -> str:
    return _("“%(file)s” could not be stored just now. Nothing was lost. Send it again.") % {
        "file": file
    }


def busy(file: str) -> str:
    return _(
        "“%(file)s” has to wait: other photos are being read. Send it again in a minute."
    ) % {"file": file}  # fmt: skip


def disk_full(file: str) -> str:
    return _(
        "“%(file)s” could not be stored: the portal's disk is full. Keep the photo, tell the "
        "office, and send it again when there is room."
    ) % {"file": file}


def too_many_today(file: str) -> str:
    return _(
        "“%(file)s” was not taken in: you have sent as many photos as one person can in 24 hours. "
        "Keep it, and send it tomorrow or ask a colleague to send it."
    ) % {"file": file}


def id_taken(file: str) -> str:
    return _("“%(file)s” was already sent for something else. Choose the photo again.") % {
        "file": file
    }


# Using


def photo_of_another_site() -> str:
    return _("This photo belongs to another site. Choose a photo of this one.")


def photo_in_use(photo: str) -> str:
    return _("The photo %(photo)s is used already. Take a new one.") % {"photo": photo}


def not_your_photo() -> str:
    return _("Only the person who sent a photo can take it back.")


def photo_in_record() -> str:
    return _(
        "This photo is part of the record now. Only an owner can delete it, and the record says so."
    )


def no_reason_to_delete() -> str:
    return _("Say why the photo is deleted. The reason stays in the record.")


def same_photo_or_other_site() -> str:
    return _("Choose two different photos of the same site.")


def not_yours_to_line_up() -> str:
    return _(
        "Only the applicator can line up these photos. You can line up a photo that you sent, "
        "until it is reviewed."
    )


def too_few_places() -> str:
    return _("Mark two or three places that both photos show.")


# Marks


def marks_changed() -> str:
    return _("Somebody else changed the marks of this photo in the meantime. Check theirs first.")


def marks_cut_off() -> str:
    return _("Not all marks arrived. Send them again.")


def too_many_marks(limit: int) -> str:
    return _("A photo can have up to %(limit)d marks. Remove some.") % {"limit": limit}


def unknown_mark() -> str:
    return _("One of the marks is of an unknown kind. Draw it again.")


def mark_without_text() -> str:
    return _("A text mark has no words. Write some, or remove it.")


def mark_without_length() -> str:
    return _("An arrow or line needs two different ends. Draw it again.")


def mark_text_missing() -> str:
    return _("A mark's text is missing. Write it again.")


def mark_text_too_long(limit: int) -> str:
    return _("A mark's text can have up to %(limit)d characters. Make it shorter.") % {
        "limit": limit
    }


def mark_without_place() -> str:
    return _("A mark has no place on the photo. Draw it again.")


def mark_too_small() -> str:
    return _("A circle or blur is too small to see. Draw it larger.")

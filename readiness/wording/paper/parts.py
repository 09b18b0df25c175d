"""What several papers print: people, items and what became of them, photos, counts of walls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

from readiness.rules.vocabulary import ItemState
from readiness.rules.words import listed

# Heads and people


def licence(number: str) -> str:
    """A line of the letterhead: "Licence T-2208"."""
    return _("Licence %(number)s") % {"number": number}


def person(name: str, licence_number: str) -> str:
    """ "Alex Applicator (licence T-2208)", or the name alone."""
    if not licence_number:
        return name
    return _("%(name)s (licence %(number)s)") % {"name": name, "number": licence_number}


LABELS: Mapping[str, str] = {
    "prepared": later("Prepared by"),
    "issued": later("Issued by"),
    "made": later("By"),
}
"""Who wrote a report and who issued it, or the one person who did both."""


def labelled(labels: Mapping[str, str], values: Mapping[str, str]) -> list[tuple[str, str]]:
    """Each value that there is behind its label."""
    return [(_(labels[code]), value) for code, value in values.items() if value]


def with_report(name: str, number: int) -> str:
    """ "Photo record, report 2": a paper's name with its report's number."""
    return _("%(name)s, report %(number)d") % {"name": name, "number": number}


def about(name: str, place: str) -> str:
    """ "Mortar drop, North wall, at 2.4 m": what, then where."""
    return f"{name}, {place}"


def state_time(state: str) -> str:
    """Whose clock the papers of a site go by: "Queensland time"."""
    return _("%(state)s time") % {"state": state}


# Items


def removed_wall() -> str:
    """Stands for the name of a wall that is no more."""
    return _("A wall that was removed")


def note(text: str) -> str:
    """A note on an item, under its label."""
    return _("Note: %(text)s") % {"text": text}


def measured_from_photo(found: str, give: str) -> str:
    """What was found, with how exact it is."""
    return _("%(found)s Measured from a photo, give or take %(give)s.") % {
        "found": found,
        "give": give,
    }


def kinds(counts: Mapping[str, int]) -> str:
    """ "2 × unfilled mortar joint and mortar drop"."""
    return listed(
        f"{count} × {name.lower()}" if count > 1 else name.lower() for name, count in counts.items()
    )


def wall_with_letter(label: str, letter: str) -> str:
    """A label may have a comma of its own, and two walls the same."""
    return f"{label} ({letter})" if letter else label


def walls(count: int) -> str:
    """ "6 walls"."""
    return ngettext("%(count)d wall", "%(count)d walls", count) % {"count": count}


def things_to_fix(count: int) -> str:
    """ "1 thing to fix", "4 things to fix"."""
    return ngettext("%(count)d thing to fix", "%(count)d things to fix", count) % {"count": count}


def first_by(day: str) -> str:
    """Of several due days the first."""
    return _("first by %(day)s") % {"day": day}


_CARRIED: Mapping[str, str] = {
    ItemState.REPORTED_FIXED: later(
        "Item %(item)d of report %(report)d, reported fixed, not checked yet"
    ),
    ItemState.SENT_BACK: later("Item %(item)d of report %(report)d, sent back, still to fix"),
    ItemState.TO_FIX: later("Item %(item)d of report %(report)d, still to fix"),
    "disputed": later("Item %(item)d of report %(report)d, disputed"),
    "": later("Item %(item)d of report %(report)d"),
}


def carried(item: int, report: int, state: str) -> str:
    """Which item of an earlier report it was, and how it stood when this one was issued.

    `state` is "" for what is only kept on record, and "disputed" while it was that.
    """
    return _(_CARRIED[state]) % {"item": item, "report": report}


def item_numbers(numbers: Sequence[int]) -> str:
    """ "item 3", "items 1, 2"."""
    text = ngettext("item %(numbers)s", "items %(numbers)s", len(numbers))
    return text % {"numbers": ", ".join(str(number) for number in numbers)}


# Photos


def photo_alt(number: int, about: str, caption: str) -> str:
    """The text alternative of a photo."""
    said = _("Photo %(number)d: %(about)s") % {"number": number, "about": about}
    return f"{said}. {caption}" if caption else said


def marks_on_photo(described: str) -> str:
    """The text alternative of what is drawn over a photo."""
    return _("Marks on the photo: %(marks)s") % {"marks": described}


def photo_measured(value_mm: int, give_mm: int, reference: str) -> str:
    """What was measured on a photo, how exactly, and by what in it."""
    return _("%(value)s mm, give or take %(give)s mm (%(reference)s)") % {
        "value": value_mm,
        "give": give_mm,
        "reference": reference,
    }


def camera_no_time() -> str:
    """Behind "Camera: "."""
    return _("no time")


def camera_no_zone(time: str) -> str:
    """A camera's time that could be of any zone."""
    return _("%(time)s (no time zone)") % {"time": time}


def camera_xmp_only(time: str, field: str) -> str:
    """A time that editing software may have written; `field` is the XMP property's name."""
    return _("no time. The file's XMP data: %(time)s (%(field)s)") % {"time": time, "field": field}


def photo_deleted(day: str) -> str:
    """Stands in place of a photo."""
    return _("This photo was deleted on %(day)s. Its SHA-256 stays on record.") % {"day": day}


NO_PHOTO: Mapping[str, str] = {
    "none": later("No photo."),
    "not_kept": later("This photo is no longer kept. Its SHA-256 stays on record."),
    "unreadable": later("This photo can't be shown. Its SHA-256 stays on record."),
    "sample": later("A photo goes here."),
}
"""Stands in place of a photo; of an item without one nobody knows whether one was taken."""


def no_photo(code: str) -> str:
    """Stands in place of a photo."""
    return _(NO_PHOTO[code])


# Walls


def wall_brief(label: str, finish: str, length: str, status: str) -> str:
    """ "North wall · face brick, 12 m · not ready"."""
    return f"{label} · {finish.lower()}, {length} · {status.lower()}"


def named_walls(letters: Sequence[str]) -> str:
    """ "wall A", "walls A and C"."""
    text = ngettext("wall %(letters)s", "walls %(letters)s", len(letters))
    return text % {"letters": listed(letters)}


# Being made


def sample_note() -> str:
    """Stands among the notes of the visit on a sample."""
    return _("This is a sample: the site and everything on it is made up.")


def progress_reading() -> str:
    """How far it is."""
    return _("Reading the report")


def progress_photo(number: int, of: int) -> str:
    """How far it is."""
    return _("Photo %(number)d of %(of)d") % {"number": number, "of": of}


def progress_layout() -> str:
    """How far it is."""
    return _("Laying out the pages")


def progress_writing(pages: int) -> str:
    """How far it is."""
    text = ngettext("Writing %(pages)d page", "Writing %(pages)d pages", pages)
    return text % {"pages": pages}


def attached_data() -> str:
    """Describes the file that is attached to each paper."""
    return _("The data printed on this paper")


def code_of_link() -> str:
    """The text alternative of a QR code."""
    return _("QR code of the link printed beside it")

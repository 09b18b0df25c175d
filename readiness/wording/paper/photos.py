"""What the photo record says."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.words import listed
from readiness.wording.paper.parts import walls


def name() -> str:
    """The paper's name."""
    return _("Photo record of pre-existing defects")


def short_name() -> str:
    """The same for the running head."""
    return _("Photo record")


def description() -> str:
    """What the file's properties say of it."""
    return _("Every photo of the visit, with its place, both times and its SHA-256")


def made_by_one(day: str, person: str, report: int) -> str:
    """On which visit, by whom, for which report."""
    told = {"day": day, "person": person, "report": report}
    if not person:
        return _("on the visit of %(day)s, report %(report)d") % told
    return _("on the visit of %(day)s by %(person)s, report %(report)d") % told


def made_by_two(day: str, prepared: str, issued: str, report: int) -> str:
    """The same where another person issued the report."""
    return _(
        "on the visit of %(day)s, report %(report)d (prepared by %(prepared)s, issued by "
        "%(issued)s)"
    ) % {"day": day, "report": report, "prepared": prepared, "issued": issued}


def summary(photos: int, things: int, on_walls: int) -> str:
    """ "10 photos of 10 things on 4 walls"; `things` is 0 where walls alone are shown."""
    if not photos:
        return _("No photos")
    counted = ngettext("%(count)d photo", "%(count)d photos", photos) % {"count": photos}
    if not things:
        return _("%(photos)s of %(walls)s") % {"photos": counted, "walls": walls(on_walls)}
    of = ngettext("%(count)d thing", "%(count)d things", things) % {"count": things}
    return _("%(photos)s of %(things)s on %(walls)s") % {
        "photos": counted,
        "things": of,
        "walls": walls(on_walls),
    }


def carried(numbers: Sequence[int]) -> str:
    """That photos of some items may be older than the visit; "" for none."""
    if not numbers:
        return ""
    return ngettext(
        "Item %(numbers)s comes from an earlier report. Its photos can be older than this visit: "
        "check the times under each.",
        "Items %(numbers)s come from an earlier report. Their photos can be older than this "
        "visit: check the times under each.",
        len(numbers),
    ) % {"numbers": listed(str(number) for number in numbers)}


def item_without(number: int, kind: str) -> str:
    """An item that has no photo."""
    return _("Item %(number)d, %(kind)s") % {"number": number, "kind": kind.lower()}


def wall_checked() -> str:
    """The heading of a photo that shows no defect."""
    return _("Wall as checked")


def as_checked(wall: str) -> str:
    """The text alternative of such a photo."""
    return _("%(wall)s, as checked") % {"wall": wall}


def camera_said(time: str) -> str:
    """A line under a photo."""
    return _("Camera said: %(time)s") % {"time": time}


def server_received(time: str) -> str:
    """A line under a photo."""
    return _("Server received: %(time)s") % {"time": time}


def digest(digits: str) -> str:
    """A line under a photo."""
    return _("SHA-256: %(digits)s") % {"digits": digits}


def file(name: str) -> str:
    """A line under a photo."""
    return _("File: %(name)s") % {"name": name}


def on_photo(measured: str) -> str:
    """A line under a photo."""
    return _("On the photo: %(measured)s") % {"measured": measured}


def measured(label: str, amount: str) -> str:
    """What was measured; nobody said how."""
    return f"{label}: {amount}"


def measured_with_tape(label: str, amount: str) -> str:
    """What was measured with a tape."""
    return _("%(label)s: %(amount)s, by tape") % {"label": label, "amount": amount}


def measured_from_photo(label: str, amount: str, give: str) -> str:
    """What was measured from a photo, and how exactly."""
    return _("%(label)s: %(amount)s, give or take %(give)s") % {
        "label": label,
        "amount": amount,
        "give": give,
    }

"""What the treatment record says."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

# Names and facts


def name() -> str:
    """The paper's name."""
    return _("Treatment record")


def treated(day: str) -> str:
    """What the file's properties say of it."""
    return _("Treated on %(day)s") % {"day": day}


LABELS: Mapping[str, str] = {
    "product": later("Product"),
    "batch": later("Batch number"),
    "used": later("Liquid used"),
    "estimated": later("Estimated beforehand"),
    "length": later("Length of the walls"),
    "weather": later("Weather"),
    "recorded": later("Recorded"),
}
"""The length is that of the walls in the report: nobody measured how much was treated."""


def litres(amount: str) -> str:
    """ "5.2 L"."""
    return _("%(amount)s L") % {"amount": amount}


# Where the treated band ends


def gauge_in_doubt(walls: str) -> str:
    """Where the joints were counted with a gauge that nobody measured there."""
    return _("Gauge not measured, or not known to be measured, on %(walls)s.") % {"walls": walls}


def levels_not_believable() -> str:
    """Of a wall whose levels can't all be true."""
    return _("levels can't be right")


def no_levels() -> str:
    """Of a wall without levels."""
    return _("no levels entered")


def ends_at(joint: str, from_slab: str) -> str:
    """ "bed joint, 172 mm below"."""
    return f"{joint}, {from_slab}"


def from_slab(lowest_mm: int, highest_mm: int) -> str:
    """Levels against the top of the slab: "172 mm below", "86 to 172 mm below"."""
    near, far = sorted((abs(lowest_mm), abs(highest_mm)))
    told = {"near": near, "far": far}
    if lowest_mm == highest_mm == 0:
        return _("level with it")
    if lowest_mm == highest_mm:
        return (_("%(far)d mm above") if highest_mm > 0 else _("%(far)d mm below")) % told
    if highest_mm <= 0:
        return _("%(near)d to %(far)d mm below") % told
    if lowest_mm >= 0:
        return _("%(near)d to %(far)d mm above") % told
    return _("%(low)d mm below to %(high)d mm above") % {"low": -lowest_mm, "high": highest_mm}


# Who confirmed


def confirmed(person: str, position: str, builder: str, moment: str) -> str:
    """Who signed, for whom and when."""
    return _("%(person)s, %(position)s, for %(builder)s, at %(moment)s") % {
        "person": person,
        "position": position,
        "builder": builder,
        "moment": moment,
    }


def withdrawn(confirmed: str, person: str, moment: str, reason: str) -> str:
    """The same, of a confirmation that was withdrawn; `person` may be unknown."""
    told = {"confirmed": confirmed, "person": person, "moment": moment, "reason": reason}
    if not person:
        return _("%(confirmed)s; withdrawn at %(moment)s: %(reason)s") % told
    return _("%(confirmed)s; withdrawn by %(person)s at %(moment)s: %(reason)s") % told

"""Why a plan does not close, and what would close it."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.rules.band.perimeter import Gap, Outline
from readiness.rules.words import metres


def why_open(outline: Outline) -> str:
    """Why the outline does not close; empty when it does."""
    if outline.open is None:
        return ""
    if outline.open is Gap.TOO_FEW_WALLS:
        return _("Enter at least three walls to close the plan.")
    if outline.open is Gap.CORNERS:
        return _(
            "The corners turn %(turned)d° in all, and round a house it is 360°. Check which "
            "corners are outside and which are inside."
        ) % {"turned": outline.turned_degrees}
    text = _("The plan does not close: %(last)s ends %(gap)s from where %(first)s starts.") % {
        "last": outline.last or _("the last wall"),
        "gap": metres(outline.gap_mm),
        "first": outline.first or _("the first wall"),
    }
    return " ".join([text, *_remedy(outline)])


def _remedy(outline: Outline) -> list[str]:
    """Which walls would close the plan if they were longer or shorter, if one alone can."""
    by, ways = metres(outline.gap_mm), []
    if outline.longer:
        ways.append(_("%(walls)s %(by)s longer") % {"walls": _either(outline.longer), "by": by})
    if outline.shorter:
        ways.append(_("%(walls)s %(by)s shorter") % {"walls": _either(outline.shorter), "by": by})
    if not ways:
        return []
    return [_("It would close with %(ways)s.") % {"ways": _(", or ").join(ways)}]


def _either(walls: tuple[str, ...]) -> str:
    return _(" or ").join(walls)

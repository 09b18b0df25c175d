"""What the checks beside a wall's line found, and what is asked to be looked at."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.defects.site_checks import Check, Finding
from readiness.rules.words import metres, millimetres, where
from readiness.wording.visits import capital


def finding_sentence(finding: Finding) -> str:
    """What was found, what is needed, and how much is missing."""
    return _SAID[finding.code](finding)


def _missing(finding: Finding, words: str) -> str:
    """The end of a sentence: nothing where the rule is met, else how far it is from that."""
    if finding.ok:
        return ""
    return words % {"mm": abs(finding.needed_mm - finding.found_mm)}


def _too_little(finding: Finding) -> str:
    return _missing(finding, _(": %(mm)d mm too little"))


def _numbers(finding: Finding) -> dict[str, object]:
    return {
        "found": "" if finding.found_mm is None else millimetres(finding.found_mm),
        "needed": millimetres(finding.needed_mm),
        "place": "" if finding.from_mm is None else metres(finding.from_mm),
        "stretch": capital(where(finding.from_mm, finding.to_mm)),
    }


_SURFACES: Mapping[str, Callable[[], str]] = {
    "soil": lambda: _("soil or a garden bed"),
    "sandy": lambda: _("sandy, well-drained ground"),
    "paving": lambda: _("paving or concrete that falls away"),
    "lawn": lambda: _("lawn or topsoil"),
    "gravel": lambda: _("gravel"),
}


def _slab_height(finding: Finding) -> str:
    if finding.found_mm < 0:
        words = _(
            "The slab is %(below)d mm below the %(surface)s at %(place)s; %(needed)s above it "
            "needed%(ending)s."
        )
    else:
        words = _(
            "The slab is %(found)s above the %(surface)s at %(place)s; %(needed)s needed%(ending)s."
        )
    return words % {
        **_numbers(finding),
        "below": -finding.found_mm,
        "surface": _SURFACES[finding.surface](),
        "ending": _too_little(finding),
    }


def _fall(finding: Finding) -> str:
    ending = _too_little(finding)
    if not finding.ok and finding.found_mm >= finding.light_rain_mm:
        ending = _(" (%(mm)d mm where rain is light and the surface is hard)") % {
            "mm": finding.light_rain_mm
        }
    return _("The ground falls %(found)s in the first metre; %(needed)s needed%(ending)s.") % {
        **_numbers(finding),
        "ending": ending,
    }


def _attachment(finding: Finding) -> str:
    return _(
        "%(what)s at %(place)s has a clear gap of %(found)s; %(needed)s needed%(ending)s."
    ) % {
        **_numbers(finding),
        "what": finding.label or _("The attachment"),
        "ending": _too_little(finding),
    }  # fmt: skip


def _weep_spacing(finding: Finding) -> str:
    words = _("Weep holes are %(found)s apart; the limit is %(needed)s.")
    if finding.from_mm is not None:
        words = _("Weep holes are %(found)s apart after %(place)s; the limit is %(needed)s.")
    return words % _numbers(finding)


def _weep_height(finding: Finding) -> str:
    if finding.found_mm < 0:
        words = _(
            "The weep holes are %(below)d mm below finished ground at %(place)s; %(needed)s above "
            "it needed%(ending)s."
        )
    else:
        words = _(
            "The weep holes are %(found)s above finished ground at %(place)s; %(needed)s "
            "needed%(ending)s."
        )
    return words % {
        **_numbers(finding),
        "below": -finding.found_mm,
        "ending": _missing(finding, _(": %(mm)d mm too low")),
    }


def _weeps_over_line(finding: Finding) -> str:
    words = ngettext(
        "%(stretch)s, the weep holes are %(found)s above the line; usually there is "
        "%(count)d course between.",
        "%(stretch)s, the weep holes are %(found)s above the line; usually there are "
        "%(count)d courses between.",
        finding.courses,
    )
    return words % {
        "stretch": capital(where(finding.from_mm, finding.to_mm)),
        "found": millimetres(finding.found_mm),
        "count": finding.courses,
    }


def _joint_width(finding: Finding) -> str:
    words = _("The joint at %(place)s is %(found)s wide; sealant can take %(needed)s.")
    if finding.is_note:
        words = _(
            "The articulation joint at %(place)s is %(found)s wide; it has to be at least "
            "%(needed)s. Check that it can move."
        )
    return words % _numbers(finding)


def _joint_depth(finding: Finding) -> str:
    return _(
        "The joint at %(place)s is %(found)s deep; a %(rod)d mm backing rod with sealant over it "
        "needs %(needed)s%(ending)s. Ask before it is sealed."
    ) % {**_numbers(finding), "rod": finding.rod_mm, "ending": _too_little(finding)}


def _articulation(finding: Finding, words: str) -> str:
    """A note about articulation joints; on some soil none are needed."""
    said = words % {
        **_numbers(finding),
        "from": metres(finding.from_mm),
        "to": metres(finding.to_mm),
        "length": metres(finding.to_mm - finding.from_mm),
        "most": metres(finding.needed_mm),
        "large": millimetres(finding.large_mm),
    }
    if not finding.soil_unknown:
        return said
    return said + " " + _("The site's soil class is not entered: on class A or S none are needed.")


def _articulation_spacing(finding: Finding) -> str:
    return _articulation(
        finding,
        _(
            "The articulation joints at %(from)s and %(to)s are %(length)s apart; at most %(most)s "
            "here. One may be missing: check."
        ),
    )


def _articulation_opening(finding: Finding) -> str:
    words = _(
        "No articulation joint within %(needed)s of the opening from %(from)s to %(to)s. If the "
        "opening is over %(large)s high too, one may be missing: check."
    )
    return _articulation(finding, words)


def _articulation_corner(finding: Finding) -> str:
    if finding.found_mm is None:
        words = _(
            "No articulation joint is entered on these %(length)s of wall; the first one is at "
            "most %(most)s from a corner. One may be missing: check."
        )
    else:
        words = _(
            "No articulation joint from %(from)s to %(to)s (%(length)s); the first one is at most "
            "%(most)s from a corner. One may be missing: check."
        )
    return _articulation(finding, words)


def _articulation_near_corner(finding: Finding) -> str:
    words = _(
        "An articulation joint is %(found)s from the corner; at least %(needed)s is usual. Check "
        "where it belongs."
    )
    return _articulation(finding, words)


def _joint_thickness(finding: Finding) -> str:
    return _(
        "By the gauge, bed joints are about %(found)d mm. Usual with a %(brick)d mm brick is "
        "%(usual)d mm, %(tolerance)d mm more or less (the joint under the bottom course may have "
        "up to %(bottom)d mm)."
    ) % {
        "found": finding.found_mm,
        "usual": finding.needed_mm,
        "tolerance": finding.tolerance_mm,
        "brick": finding.brick_mm,
        "bottom": finding.bottom_joint_mm,
    }


_SAID: Mapping[Check, Callable[[Finding], str]] = {
    Check.SLAB_HEIGHT: _slab_height,
    Check.FALL: _fall,
    Check.ATTACHMENT: _attachment,
    Check.WEEP_SPACING: _weep_spacing,
    Check.WEEP_HEIGHT: _weep_height,
    Check.WEEPS_OVER_LINE: _weeps_over_line,
    Check.JOINT_WIDTH: _joint_width,
    Check.JOINT_DEPTH: _joint_depth,
    Check.ARTICULATION_SPACING: _articulation_spacing,
    Check.ARTICULATION_OPENING: _articulation_opening,
    Check.ARTICULATION_CORNER: _articulation_corner,
    Check.ARTICULATION_NEAR_CORNER: _articulation_near_corner,
    Check.JOINT_THICKNESS: _joint_thickness,
}

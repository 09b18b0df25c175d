"""What lies beside a treated band, what somebody has to decide, and what nobody measured."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_CEILING, Decimal

from django.utils.translation import gettext as _

from readiness.rules.band.beside import FINISHED_GROUND
from readiness.rules.band.levels import BareBrick, SoilToClear, WallBand
from readiness.rules.band.verdict import Details, Reason, Why
from readiness.rules.words import listed, metres, millimetres, where
from readiness.wording.levels import from_slab, line_doubts
from readiness.wording.visits import capital


def soil(part: SoilToClear) -> str:
    """ "Clear soil 66 mm deep along 3.4 m (about 0.03 m³), from 0 m to 3.4 m."."""
    return _("Clear soil %(deep)s deep along %(long)s (about %(volume)s m³), %(place)s.") % {
        "deep": millimetres(part.deepest_mm),
        "long": metres(part.to_mm - part.from_mm),
        "volume": cubic_metres(part.litres),
        "place": where(part.from_mm, part.to_mm),
    }


def cubic_metres(litres: int) -> str:
    """To the next hundredth of a cubic metre up: "0.03"."""
    return str((Decimal(litres) / 1000).quantize(Decimal("0.01"), ROUND_CEILING))


def bare(part: BareBrick) -> str:
    """Brick that stays open under the band until a finish comes."""
    return _("%(place)s, up to %(high)s of untreated brick stays open until the %(until)s.") % {
        "place": capital(where(part.from_mm, part.to_mm)),
        "high": millimetres(part.highest_mm),
        "until": _(_UNTIL.get(part.until, "ground is finished")),
    }


_UNTIL = {
    "paving": "paving is laid",
    "lawn": "lawn or topsoil is laid",
    "soil": "garden bed is filled",
    "sandy": "sand is filled in",
    "gravel": "gravel is laid",
    FINISHED_GROUND: "ground is finished",
}


def bottom_unknown(labels: Sequence[str]) -> str:
    """That nobody saw where the brickwork of these walls starts."""
    return _(
        "Where the brickwork starts was not entered for %(walls)s. Look before treating: where "
        "brick ends above the bottom of the band, the licensed technician decides."
    ) % {"walls": listed(labels)}


def reason(found: Reason, slab_level_mm: int = 0) -> str:
    """What is behind a verdict, or worth knowing beside it; levels from the wall's own slab."""
    level = found.details.get("level_mm")
    if isinstance(level, int):
        return _SAID[found.why](found.details | {"level_mm": level - slab_level_mm})
    return _SAID[found.why](found.details)


def decisions(band: WallBand) -> list[str]:
    """What somebody has to decide or measure again."""
    return [reason(found, band.run.slab_level_mm) for found in band.why if found.why in _DECIDED]


def notes(band: WallBand) -> list[str]:
    """What is worth knowing of a band, and what nobody measured."""
    return [reason(found) for found in band.why if found.why in _NOTED] + line_doubts(band)


def still_bare(band: WallBand) -> list[str]:
    """Brick that stays open under the band."""
    return [bare(part) for part in band.bare]


def _place(details: Details) -> str:
    start, end = details.get("from_mm"), details.get("to_mm")
    if not isinstance(start, int) or not isinstance(end, int):
        return _("On this wall")
    return capital(where(start, end))


def _brick_ends(details: Details) -> str:
    level = details["level_mm"]
    return _(
        "%(place)s, the brickwork ends %(level)s, above the bottom of the band. What is below must "
        "be protected by the rest of the termite management system: the licensed technician "
        "decides."
    ) % {"place": _place(details), "level": from_slab(level) if isinstance(level, int) else ""}


def _opening_unknown(details: Details) -> str:
    return _(
        "%(place)s is a door or window. Enter its threshold, and whether there is wall below it: "
        "what is treated there is not known."
    ) % {"place": _place(details)}


def _within_tape(details: Details) -> str:
    return _(
        "%(place)s, the answer changes within the tape's error (%(tape)s mm). Measure again, or "
        "decide. The higher joint is kept."
    ) % {"place": _place(details), "tape": details["tape_mm"]}


def _at_threshold(details: Details) -> str:
    return _("%(place)s, the wall ends at the threshold: it is treated as far as it goes.") % {
        "place": _place(details)
    }


def _no_struck_joint(details: Details) -> str:
    return _("%(place)s, no struck joint was entered.") % {"place": _place(details)}


def _plainly(words: Callable[[], str]) -> Callable[[Details], str]:
    return lambda details: words()


_SAID: Mapping[Why, Callable[[Details], str]] = {
    Why.NO_GROUND: _plainly(lambda: _("The ground was not measured.")),
    Why.NO_GROUND_TODAY: _plainly(
        lambda: _("Today's ground was not measured: what soil has to go is not known.")
    ),
    Why.NO_BED_JOINT: _plainly(lambda: _("No bed joint was measured.")),
    Why.NO_UNIT: _plainly(lambda: _("Brick or block was not entered.")),
    Why.NO_STRUCK_JOINT: _no_struck_joint,
    Why.BRICK_ENDS: _brick_ends,
    Why.OPENING_UNKNOWN: _opening_unknown,
    Why.WITHIN_TAPE: _within_tape,
    Why.SHORT: lambda details: (
        _("%(place)s, the line is %(mm)s mm short.")
        % {"place": _place(details), "mm": details["by_mm"]}
    ),
    Why.GAUGE_NOT_MEASURED: _plainly(lambda: _("The gauge was not measured on this wall.")),
    Why.STEPS_ABOUT: _plainly(
        lambda: _("No upright joint was measured: where the line steps is about, to half a brick.")
    ),
    Why.ENDS_AT_THRESHOLD: _at_threshold,
    Why.NO_WALL: _plainly(lambda: _("There is no wall in the band: nothing to treat.")),
}
_DECIDED = (
    Why.NO_GROUND_TODAY, Why.NO_STRUCK_JOINT, Why.BRICK_ENDS, Why.OPENING_UNKNOWN, Why.WITHIN_TAPE,
)  # fmt: skip
_NOTED = (Why.STEPS_ABOUT, Why.ENDS_AT_THRESHOLD, Why.NO_WALL)

"""What is written on drawings, and how they read to who can't see them; on screens and papers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

from readiness.rules.band.geometry import Opening
from readiness.rules.words import listed, where
from readiness.wording.levels import from_slab
from readiness.wording.paper.parts import walls

SHORT: Mapping[str, str] = {
    "top_of_slab": later("top of slab"),
    "weep_holes": later("weep holes"),
    "weep_hole": later("weep hole"),
    "treated_band": later("treated band"),
    "next_wall": later("band of the next wall"),
    "soil_to_clear": later("soil to clear"),
    "height_missing": later("height missing"),
    "not_known": later("not known"),
    "out_of_reach": later("nobody can reach it"),
    "no_wall": later("no wall"),
    "wall_below": later("wall below?"),
    "threshold": later("threshold?"),
    "brick_starts": later("brickwork starts"),
    "slab_or_footing": later("slab or footing"),
    "ground_today": later("ground today"),
    "when_finished": later("when finished"),
    "finish_to_come": later("finish to come"),
    "slab": later("slab"),
    "frame": later("frame"),
    "plan": later("Plan of the walls"),
    "no_walls": later("No walls have been entered yet."),
    "no_levels": later("No levels were entered."),
}


def short(code: str) -> str:
    """The words of a part of a drawing that are always the same."""
    return _(SHORT[code])


# A wall from outside


def seen_from_outside(wall: str) -> str:
    """The title of an elevation."""
    return _("%(wall)s, seen from outside") % {"wall": wall}


def length_of_wall(length: str) -> str:
    """ "12 m of wall."."""
    return _("%(length)s of wall.") % {"length": length}


def item_at(number: int, place: str) -> str:
    """ "Item 3 is at 2.4 m."."""
    return _("Item %(number)d is at %(place)s.") % {"number": number, "place": place}


def level_from_slab(level_mm: int) -> str:
    """A level as somebody at the wall measures it."""
    if level_mm == 0:
        return _("level with slab")
    text = _("%(level)d mm above slab") if level_mm > 0 else _("%(level)d mm below slab")
    return text % {"level": abs(level_mm)}


def top_of_slab(down_mm: int) -> str:
    """Of a slab that is stepped down, such as a garage's; below 0 it is stepped up."""
    text = _("top of slab, %(mm)d mm below main slab")
    if down_mm < 0:
        text = _("top of slab, %(mm)d mm above main slab")
    return text % {"mm": abs(down_mm)}


def slab_steps(down_mm: int) -> str:
    """The same, as a sentence."""
    text = _("This wall's slab is %(mm)d mm below the main slab.")
    if down_mm < 0:
        text = _("This wall's slab is %(mm)d mm above the main slab.")
    return text % {"mm": abs(down_mm)}


def clear_depth(deepest_mm: int) -> str:
    """On soil that has to go, how deep it is."""
    return _("clear %(mm)d mm") % {"mm": deepest_mm}


def opening(part: Opening, slab_mm: int) -> str:
    """ "Back door from 2 m to 2.9 m: no wall below it."; `slab_mm` is this wall's own slab."""
    words = {"name": part.label or _("Opening"), "place": where(part.from_mm, part.to_mm)}
    if part.wall_below is False:
        return _("%(name)s %(place)s: no wall below it.") % words
    if part.wall_below is None:
        return _("%(name)s %(place)s: not known whether there is wall below it.") % words
    if part.threshold_mm is None:
        return _("%(name)s %(place)s: wall below it, not known how far up.") % words
    words["level"] = from_slab(part.threshold_mm - slab_mm)
    return _("%(name)s %(place)s: wall below it, up to %(level)s.") % words


def out_of_reach(from_mm: int, to_mm: int) -> str:
    """Why there is no band on a stretch."""
    return _("Nobody can reach it %(place)s: nothing is treated there.") % {
        "place": where(from_mm, to_mm)
    }


def brick_starts(level_mm: int) -> str:
    """Where the brickwork starts, from this wall's own slab."""
    return _("The brickwork starts %(level)s.") % {"level": from_slab(level_mm)}


def corner(wall: str, overlap_mm: int, *, at_right: bool) -> str:
    """How far the band overlaps that of the next wall; below 0 they are apart."""
    text = _("At the left end it overlaps the band of %(wall)s by %(mm)d mm.")
    if at_right:
        text = _("At the right end it overlaps the band of %(wall)s by %(mm)d mm.")
    if overlap_mm < 0:
        text = _("At the left end there are %(mm)d mm between it and the band of %(wall)s.")
        if at_right:
            text = _("At the right end there are %(mm)d mm between it and the band of %(wall)s.")
    return text % {"wall": wall, "mm": abs(overlap_mm)}


def short_level(level_mm: int) -> str:
    """The same where there is less room: "−172 mm", "+86 mm"."""
    if level_mm == 0:
        return _("slab level")
    return f"{'+' if level_mm > 0 else '−'}{abs(level_mm)} mm"


def scale(times: int) -> str:
    """By how much heights are drawn larger."""
    if times == 1:
        return _("Drawn to scale.")
    return _("Heights %(times)d times larger than lengths.") % {"times": times}


def short_scale(times: int) -> str:
    """The same where there is less room."""
    return scale(times) if times == 1 else _("Heights drawn ×%(times)d.") % {"times": times}


def short_by(length_mm: int) -> str:
    """Beside what is missing."""
    return _("%(length)d mm short") % {"length": length_mm}


# A wall cut through


def cut_at(wall: str, place: str) -> str:
    """The title of a section."""
    return _("%(wall)s, cut through the wall at %(place)s") % {"wall": wall, "place": place}


def section_at(place: str) -> str:
    """Under a section."""
    return _("At %(place)s. Heights to scale.") % {"place": place}


def clearance(found: str, needed: str) -> str:
    """How high the line is over the ground, and how high it has to be."""
    return _("The treatment line is %(found)s above finished ground here; %(needed)s needed.") % {
        "found": found,
        "needed": needed,
    }


def finish_to_come(height: str) -> str:
    """How much paving or topsoil is still to come."""
    return _("%(height)s of finish is still to come.") % {"height": height}


def band_height(height: str) -> str:
    """From the line down to the bottom of the band."""
    return _("The treated band is %(height)s high here.") % {"height": height}


def soil_here(depth: str) -> str:
    """How deep soil lies over the bottom of the band today."""
    return _("Soil %(depth)s deep has to be cleared first.") % {"depth": depth}


def needed_height(length_mm: int) -> str:
    """Beside a dimension."""
    return _("%(length)d mm needed") % {"length": length_mm}


# The house from above


def unnamed_wall(key: str) -> str:
    """Of a wall without a label."""
    return _("Wall %(key)s") % {"key": key}


def wall_in_words(name: str, status: str, numbers: Sequence[int]) -> str:
    """A wall with its length, how it stands, and the items on it; "" leaves a status out."""
    parts: list[str] = [name]
    if status:
        parts.append(status.lower())
    if numbers:
        text = ngettext("item %(numbers)s", "items %(numbers)s", len(numbers))
        parts.append(text % {"numbers": listed(str(number) for number in numbers)})
    return ", ".join(parts)


def house_in_words(count: int, length: str, said: Iterable[str], shape: str) -> str:
    """The whole plan: `said` of each wall, and what is wrong with the `shape`, "" for nothing."""
    start = _("%(walls)s round the house, %(length)s in all.") % {
        "walls": walls(count),
        "length": length,
    }
    return " ".join([start, *(f"{wall}." for wall in said), shape]).strip()

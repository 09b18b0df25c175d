"""The steps by which quantities are worked out, and what is worth knowing about them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.geometry import RENDERED
from readiness.rules.band.quantities import (
    JointSealing,
    Quantities,
    RunLiquid,
    SealingNote,
    rounded,
)
from readiness.rules.band.wall import LITRES_FOR_COURSES
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import listed, metres, millimetres, number


@dataclass(frozen=True)
class Step:
    """One step of the working: what, how it was worked out, and the result with its unit.

    `source` is where its rates are published; those of all others are the business's own.
    """

    what: str
    working: str
    result: str
    source: str = ""


@dataclass(frozen=True)
class Working:
    """What a page or paper prints beside the numbers."""

    steps: tuple[Step, ...]
    notes: tuple[str, ...]


def working(found: Quantities, values: RuleValues) -> Working:
    """The steps and notes of what was found with these values."""
    steps = (*_walls(found, values), *_liquid(found, values), *_sealing(found, values))
    return Working((*steps, _solvent(found, values)), notes(found, values))


def notes(found: Quantities, values: RuleValues) -> tuple[str, ...]:
    """What was assumed, and joints that need a person's thought."""
    said = []
    if found.is_average:
        words = _("No walls entered yet: an average perimeter of %(length)s is taken.")
        said.append(words % {"length": metres(found.lineal_mm)})
    elif estimated := [part.label for part in found.runs if not part.is_measured]:
        words = _(
            "Estimated on %(walls)s, where levels are missing or can't be right: the whole length "
            "and the usual courses count."
        )
        all_of_them = len(estimated) == len(found.runs) > 1
        said.append(words % {"walls": _("all walls") if all_of_them else listed(estimated)})
    if unknown := [part.label for part in found.runs if part.openings_unknown]:
        words = _(
            "Doors or windows on %(walls)s count as wall, as nobody entered what is below them."
        )
        said.append(words % {"walls": listed(unknown)})
    if raked := [_raked(part) for part in found.runs if part.raked_mm]:
        words = _("Joints are raked on %(walls)s: expect the upper end there.")
        said.append(words % {"walls": listed(raked)})
    labels = {part.run_id: part.label for part in found.runs}
    for part in found.sealing:
        if part.note:
            words = _("%(wall)s, joint at %(place)s: %(note)s")
            told = {"wall": labels[part.run_id], "place": metres(part.distance_mm)}
            said.append(words % (told | {"note": sealing_note(part, values)}))
    return tuple(said)


def _raked(part: RunLiquid) -> str:
    told = {"wall": part.label, "deep": millimetres(part.raked_mm or 0)}
    return _("%(wall)s (%(deep)s deep)") % told


def span(found: Quantities) -> str:
    """What the walls may take: "4.8 to 9.0 L"."""
    return litres_between(found.least_litres, found.most_litres)


def litres_between(least: Decimal, most: Decimal) -> str:
    """ "4.8 to 9.0 L", both to the tenth."""
    if least == most:
        return _("%(litres)s L") % {"litres": f"{most:.1f}"}
    return _("%(least)s to %(most)s L") % {"least": f"{least:.1f}", "most": f"{most:.1f}"}


def fills(found: Quantities) -> str:
    """How often the sprayer is filled: "first fill 5 L, then 1 refill"."""
    told = {"litres": number(found.first_fill_litres), "count": found.most_refills}
    if not found.most_refills:
        return _("first fill %(litres)s L, no refill") % told
    if found.refills < found.most_refills:
        words = ngettext(
            "first fill %(litres)s L, then up to %(count)d refill",
            "first fill %(litres)s L, then up to %(count)d refills",
            found.most_refills,
        )
    else:
        words = ngettext(
            "first fill %(litres)s L, then %(count)d refill",
            "first fill %(litres)s L, then %(count)d refills",
            found.most_refills,
        )
    return words % told


def sealing_note(part: JointSealing, values: RuleValues) -> str:
    """What has to be known of a joint before it is sealed; empty for nothing."""
    numbers = {"width": part.width_mm, "most": values["sealant_width_max_mm"]}
    if part.note is SealingNote.CRACK_TOO_WIDE:
        return _(
            "%(width)d mm is wider than sealant can take (%(most)d mm): find out why it opened "
            "before anything goes in."
        ) % numbers  # fmt: skip
    if part.note is SealingNote.TOO_WIDE:
        return _(
            "%(width)d mm is wider than sealant can take (%(most)d mm): ask before filling it. It "
            "must still be able to move, so no mortar."
        ) % numbers  # fmt: skip
    if part.note is SealingNote.TIGHT:
        return _("Tight: sealant alone, no backing rod.")
    if part.note is SealingNote.NO_ROD:
        return _("No stocked backing rod is wide enough for %(width)d mm.") % numbers
    if part.note is SealingNote.SHALLOW:
        return _(
            "%(deep)d mm deep; a %(rod)d mm rod with sealant over it needs %(needed)d mm. Ask "
            "before it is sealed."
        ) % {"deep": part.depth_mm, "rod": part.rod_mm, "needed": part.depth_needed_mm}
    return ""


def _walls(found: Quantities, values: RuleValues) -> Iterator[Step]:
    brick = [part for part in found.runs if part.courses]
    render = [part for part in found.runs if part.finish in RENDERED]
    if brick:
        litres = sum((part.litres for part in brick), Fraction(0))
        yield Step(
            _("Liquid on brick"),
            _("%(wall)s of brick wall, %(courses)s, at %(litres)s L per 10 m for two courses") % {
                "wall": metres(sum(part.length_mm for part in brick)),
                "courses": _courses(brick, litres, values),
                "litres": number(values["litres_per_10_m"]),
            },
            _litres(litres),
        )  # fmt: skip
    if render:
        area = rounded(sum((part.area_mm2 for part in render), Fraction(0)) / 1_000_000, "0.01")
        yield Step(
            _("Liquid on render"),
            _("%(wall)s of wall, %(area)s m² at %(litres)s L/m²") % {
                "wall": metres(sum(part.length_mm for part in render)),
                "area": number(area),
                "litres": number(values["render_litres_per_m2"]),
            },
            _litres(sum((part.litres for part in render), Fraction(0))),
        )  # fmt: skip


def _litres(exact: Fraction) -> str:
    return _("%(litres)s L") % {"litres": number(rounded(exact, "0.01"))}


def _courses(brick: Sequence[RunLiquid], litres: Fraction, values: RuleValues) -> str:
    """ "2 courses"; where there are not as many everywhere, how long they are in all."""
    fewest = min(part.courses[0] for part in brick if part.courses)
    most = max(part.courses[1] for part in brick if part.courses)
    if fewest == most:
        return courses_between(fewest, most)
    courses_mm = litres / Fraction(values["litres_per_10_m"]) * 10_000 * LITRES_FOR_COURSES
    return _("%(count)s (%(length)s of courses in all)") % {
        "count": courses_between(fewest, most), "length": metres(round(courses_mm)),
    }  # fmt: skip


def courses_between(fewest: int, most: int) -> str:
    """ "2 courses", "2 to 4 courses"."""
    if fewest < most:
        return _("%(fewest)d to %(most)d courses") % {"fewest": fewest, "most": most}
    return ngettext("%(count)d course", "%(count)d courses", most) % {"count": most}


def wall_in_words(part: RunLiquid) -> str:
    """What the litres of a wall go by: "4.8 m, 2 courses", "3 m, 0.27 m²"."""
    length = metres(part.length_mm)
    if part.courses:
        return f"{length}, {courses_between(*part.courses)}"
    if part.finish not in RENDERED:
        return length
    area = {"length": length, "area": number(rounded(part.area_mm2 / 1_000_000, "0.01"))}
    return _("%(length)s, %(area)s m²") % area


def _liquid(found: Quantities, values: RuleValues) -> Iterator[Step]:
    yield Step(
        _("On the walls"),
        _(
            "%(less)d%% less to %(more)d%% more than %(litres)s L: it depends on how thirsty the "
            "brick is (suction), how deep the joints are and whether they are raked"
        ) % {
            "less": values["litres_less_percent"],
            "more": values["litres_more_percent"],
            "litres": number(rounded(found.exact_litres, "0.01")),
        },
        span(found),
    )  # fmt: skip
    yield Step(
        _("Liquid to carry"),
        _("%(litres)s L + %(waste)s%% waste, rounded up")
        % {"litres": f"{found.most_litres:.1f}", "waste": values["waste_percent"]},
        f"{found.carried_litres:.1f} L",
    )
    tank = _("a tank of %(litres)s L") % {"litres": number(values["tank_litres"])}
    yield Step(_("Fills"), tank, fills(found))
    yield Step(
        _("Pumps for the first fill"),
        _("low pressure: about %(pumps)d pumps for each 5 L in the sprayer")
        % {"pumps": values["pumps_per_5_l"]},
        _("about %(pumps)d") % {"pumps": found.pumps},
    )
    drums = ngettext("%(count)d drum", "%(count)d drums", found.drums)
    yield Step(
        _("Drums to carry"),
        _("%(carried)s L from drums of %(litres)s L")
        % {"carried": f"{found.carried_litres:.1f}", "litres": number(values["drum_litres"])},
        drums % {"count": found.drums},
    )


def _sealing(found: Quantities, values: RuleValues) -> Iterator[Step]:
    if not found.sealing:
        return
    rods = found.rod_mm_by_diameter
    if rods:
        each = _("%(length)s of %(rod)d mm")
        yield Step(
            _("Backing rod"),
            _("next stocked size at or above the width plus %(over)d%%")
            % {"over": values["rod_oversize_percent"]},
            listed(each % {"length": metres(mm), "rod": rod} for rod, mm in rods.items()),
            _published(values, "rod_oversize_percent"),
        )
    words = ngettext(
        "%(count)d joint: width x depth x height, depth %(depth)d%% of the width and at least "
        "%(least)d mm, + %(waste)d%% waste",
        "%(count)d joints: width x depth x height, depth %(depth)d%% of the width and at least "
        "%(least)d mm, + %(waste)d%% waste",
        len(found.sealing),
    )
    yield Step(
        _("Sealant"),
        words
        % {
            "count": len(found.sealing),
            "depth": values["sealant_depth_percent"],
            "least": values["sealant_depth_min_mm"],
            "waste": values["sealant_waste_percent"],
        },
        f"{number(found.sealant_ml)} mL",
        _published(values, "sealant_depth_percent", "sealant_depth_min_mm"),
    )
    cartridges = ngettext("%(count)d cartridge", "%(count)d cartridges", found.cartridges)
    yield Step(
        _("Cartridges"),
        _("%(ml)d mL each") % {"ml": values["cartridge_ml"]},
        cartridges % {"count": found.cartridges},
    )


def _published(values: RuleValues, *keys: str) -> str:
    """The published sources of some values, each once; none of what the business set itself."""
    sources = [values.rule(key).source_of(values[key]) for key in keys]
    return listed(dict.fromkeys(source.words for source in sources if not source.is_own))


def _solvent(found: Quantities, values: RuleValues) -> Step:
    words = ngettext(
        "%(count)d sprayer at %(ml)d mL", "%(count)d sprayers at %(ml)d mL", values["sprayers"]
    )
    each = {"count": values["sprayers"], "ml": values["solvent_ml_per_sprayer"]}
    return Step(_("Solvent for clean-out"), words % each, f"{found.solvent_ml} mL")

"""The steps by which quantities are worked out, and what is worth knowing about them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.quantities import (
    JointSealing,
    Quantities,
    SealingNote,
    base_litres_per_joint_mm,
    rounded,
)
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import listed, metres, number


@dataclass(frozen=True)
class Step:
    """One step of the working: what, how it was worked out, and the result with its unit."""

    what: str
    working: str
    result: str


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
    for part in found.sealing:
        if part.note:
            words = _("Joint at %(place)s: %(note)s")
            note = sealing_note(part, values)
            said.append(words % {"place": metres(part.distance_mm), "note": note})
    return tuple(said)


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
    return ""


def _walls(found: Quantities, values: RuleValues) -> Iterator[Step]:
    brick = [part for part in found.runs if part.bed_joint_mm]
    render = [part for part in found.runs if not part.bed_joint_mm]
    if brick:
        lineal_mm = sum(part.length_mm for part in brick)
        bed_mm = sum(part.bed_joint_mm for part in brick)
        perpend_mm = sum(part.perpend_mm for part in brick)
        litres = rounded(sum((part.litres for part in brick), Fraction(0)), "0.01")
        yield Step(
            _("Mortar joint in the band"),
            _(
                "%(wall)s of brick wall, %(courses)s courses: %(bed)s of bed joint + %(perpend)s "
                "of perpend"
            ) % {
                "wall": metres(lineal_mm),
                "courses": listed(str(n) for n in sorted({part.courses for part in brick})),
                "bed": metres(bed_mm),
                "perpend": metres(round(perpend_mm)),
            },
            metres(round(bed_mm + perpend_mm)),
        )  # fmt: skip
        per_metre = rounded(base_litres_per_joint_mm(values) * 1000, "0.0001")
        yield Step(
            _("Liquid on brick"),
            _(
                "%(litres)s L per 10 m of wall for %(courses)d courses is %(each)s L per metre of "
                "joint"
            ) % {
                "litres": number(values["litres_per_10_m"]),
                "courses": values["litres_base_courses"],
                "each": number(per_metre),
            },
            f"{number(litres)} L",
        )  # fmt: skip
    if render:
        area = rounded(sum((part.area_mm2 for part in render), Fraction(0)) / 1_000_000, "0.01")
        litres = rounded(sum((part.litres for part in render), Fraction(0)), "0.01")
        yield Step(
            _("Liquid on render"),
            _("%(wall)s of wall, %(area)s m² at %(litres)s L/m²") % {
                "wall": metres(sum(part.length_mm for part in render)),
                "area": number(area),
                "litres": number(values["render_litres_per_m2"]),
            },
            f"{number(litres)} L",
        )  # fmt: skip


def _liquid(found: Quantities, values: RuleValues) -> Iterator[Step]:
    bring = f"{number(found.litres_with_waste)} L"
    exact = rounded(found.exact_litres, "0.01")
    yield Step(
        _("Liquid to bring"),
        _("%(litres)s L + %(waste)s%% waste, rounded up")
        % {"litres": number(exact), "waste": values["waste_percent"]},
        bring,
    )
    first = {"litres": number(found.first_fill_litres), "count": found.refills}
    if found.refills:
        fills = ngettext(
            "first fill %(litres)s L, then %(count)d refill",
            "first fill %(litres)s L, then %(count)d refills",
            found.refills,
        )
    else:
        fills = _("first fill %(litres)s L, no refill")
    tank = _("a tank of %(litres)s L") % {"litres": number(values["tank_litres"])}
    yield Step(_("Fills"), tank, fills % first)
    yield Step(
        _("Pumps for the first fill"),
        _("low pressure: about %(pumps)d pumps for each 5 L in the sprayer")
        % {"pumps": values["pumps_per_5_l"]},
        _("about %(pumps)d") % {"pumps": found.pumps},
    )
    drums = ngettext("%(count)d drum", "%(count)d drums", found.drums)
    yield Step(
        _("Drums to carry"),
        _("%(bring)s from drums of %(litres)s L")
        % {"bring": bring, "litres": number(values["drum_litres"])},
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
    )
    cartridges = ngettext("%(count)d cartridge", "%(count)d cartridges", found.cartridges)
    yield Step(
        _("Cartridges"),
        _("%(ml)d mL each") % {"ml": values["cartridge_ml"]},
        cartridges % {"count": found.cartridges},
    )


def _solvent(found: Quantities, values: RuleValues) -> Step:
    words = ngettext(
        "%(count)d sprayer at %(ml)d mL", "%(count)d sprayers at %(ml)d mL", values["sprayers"]
    )
    each = {"count": values["sprayers"], "ml": values["solvent_ml_per_sprayer"]}
    return Step(_("Solvent for clean-out"), words % each, f"{found.solvent_ml} mL")

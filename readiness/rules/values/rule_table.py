"""The table of rule values: data only, one entry a value, grouped as the rule-values page shows it."""
# ruff: noqa: E501  (a table reads best with one row a line)

from dataclasses import replace
from decimal import Decimal

from readiness.rules.defects.catalogue import KINDS
from readiness.rules.values import sources
from readiness.rules.values.rule_value import (
    AT_LEAST,
    AT_MOST,
    SWITCH,
    RuleValue,
    Value,
    minutes_key,
)
from readiness.rules.values.sources import OWN, Source


def _rule(
    group: str,
    key: str,
    label: str,
    unit: str,
    default: Value,
    minimum: int | Decimal,
    maximum: int | Decimal,
    source: Source,
    explanation: str,
    bound: str = "",
) -> RuleValue:
    """`bound` says that the default is the least (`AT_LEAST`) or the most (`AT_MOST`) by its source:
    a business may set it stricter, never looser.
    """
    return RuleValue(
        key=key, label=label, unit=unit, default=default, minimum=minimum, maximum=maximum,
        source=source, explanation=explanation, group=group,
        bound=bound,
    )  # fmt: skip


_D = Decimal

_LEVELS, _BRICK, _GROUND = "Treatment line", "Brickwork", "Ground and surroundings"
_TIME, _LIQUID, _SEAL, COSTS = "Times", "Liquid", "Sealant and backing rod", "Time cost of defects"

_TABLE = (
    _rule(_LEVELS, "line_above_ground_mm", "Treatment line above finished ground", "mm", 75, 75, 300, OWN,
          "The top of the treated band is at least this far above finished ground, at every distance."),
    _rule(_LEVELS, "min_step_length_mm", "Shortest level stretch between two steps", "mm", 240, 0, 5000,
          OWN, "The line is kept level for at least this length before it steps again."),
    _rule(_LEVELS, "prefer_fewest_steps", "Fewest steps rather than the lowest line", SWITCH, 0, 0, 1,
          OWN, "With 1, the line has as few steps as possible, then is as low as possible."),
    _rule(_LEVELS, "weep_courses_above_line", "Usual courses between the line and the weep holes", "courses",
          1, 0, 5, OWN,
          "Weep holes usually sit one course above the line, sometimes directly above it, never below it. "
          "Used for a note only."),
    _rule(_LEVELS, "courses_treated", "Courses treated", "courses", 2, 1, 12, OWN,
          "How many courses below the line are treated, unless a wall has its own number."),
    _rule(_LEVELS, "band_below_ground_mm", "Band goes below finished ground by", "mm", 0, 0, 600, OWN,
          "The band goes down to the highest bed joint that is this far under finished ground, or deeper. "
          "The product label decides."),
    _rule(_LEVELS, "tape_error_mm", "Readings are good to", "mm", 3, 0, 20, OWN,
          "Where the answer would change within this, it says so: measure again, or decide."),
    _rule(_LEVELS, "soil_by_applicator", "Soil over the band is cleared by us", SWITCH, 0, 0, 1, OWN,
          "With 1, items proposed for soil over the band are for the applicator on the day, not for the builder."),
    _rule(_BRICK, "joint_thickness_mm", "Mortar joint thickness", "mm", 10, 5, 20, sources.JOINTS,
          "The thickness that bed joints and perpends are laid at."),
    _rule(_BRICK, "joint_tolerance_mm", "Mortar joint tolerance, either way", "mm", 3, 1, 10, sources.TOLERANCE,
          "A joint may be this much thinner or thicker."),
    _rule(_BRICK, "bottom_joint_max_mm", "Thickest joint under the bottom course", "mm", 20, 10, 40,
          sources.TOLERANCE, "The bottom course may sit on a thicker joint."),
    _rule(_BRICK, "brick_length_mm", "Brick length", "mm", 230, 100, 600, sources.BRICK_SIZE,
          "Standard brick 230 x 110 x 76 mm; with a 10 mm joint, perpends are 240 mm apart."),
    _rule(_BRICK, "brick_height_mm", "Brick height", "mm", 76, 40, 300, sources.BRICK_SIZE,
          "Standard brick 230 x 110 x 76 mm; with a 10 mm joint, a course is 86 mm."),
    _rule(_BRICK, "weep_spacing_max_mm", "Weep hole spacing, at most", "mm", 1200, 400, 1200, sources.WEEP_HOLES,
          "Weep holes further apart than this are noted.", bound=AT_MOST),
    _rule(_BRICK, "articulation_spacing_max_mm", "Articulation joints, no large opening: apart at most", "mm",
          6000, 3000, 6000, sources.ARTICULATION,
          "Centre to centre, in a straight wall. More gives a note, never a verdict. None are needed where the "
          "site's soil class is A or S.", bound=AT_MOST),
    _rule(_BRICK, "articulation_openings_mm", "Articulation joints, with large openings: apart at most", "mm",
          5000, 2500, 5000, sources.ARTICULATION, "Centre to centre, in a wall with a large opening.",
          bound=AT_MOST),
    _rule(_BRICK, "articulation_large_mm", "An opening is large from, wide and high", "mm", 900, 600, 900,
          sources.ARTICULATION, "Larger both ways than this. Heights are not entered: a wide one counts as large. Windows with a sill above "
          "the floor are not entered either: look at those yourself.",
          bound=AT_MOST),
    _rule(_BRICK, "articulation_beside_mm", "Articulation joint beside a large opening, at most", "mm",
          1200, 300, 1200, sources.ARTICULATION, "From the side of the opening to the joint.", bound=AT_MOST),
    _rule(_BRICK, "articulation_corner_max_mm", "First articulation joint from a corner, at most", "mm",
          4500, 2000, 4500, sources.ARTICULATION, "From each end of the wall.", bound=AT_MOST),
    _rule(_BRICK, "articulation_corner_min_mm", "First articulation joint from a corner, at least", "mm",
          470, 470, 1500, sources.ARTICULATION, "Nearer than this is noted.", bound=AT_LEAST),
    _rule(_BRICK, "articulation_gap_mm", "Width of an articulation joint, at least", "mm", 10, 10, 40,
          sources.ARTICULATION_WIDTH, "A narrower one is noted: it may close up.", bound=AT_LEAST),
    _rule(_BRICK, "unfilled_depth_max_mm", "Deepest recess of a joint that counts as filled", "mm", 3, 0, 10,
          replace(OWN, stricter_than=sources.RAKING.words),
          "Deeper than this, the joint must be filled. The code lets a joint be raked 10 mm deep (5 mm in units "
          "90 mm wide). We ask for less, so that the liquid meets mortar everywhere and no soil or drops lie in "
          "the recess. Where joints are raked on purpose, measure from the raked face."),
    _rule(_BRICK, "brick_overhang_max_mm", "Brick past the edge of the slab, at most", "mm", 15, 0, 15,
          sources.OVERHANG, "More than this is a matter for the engineer.", bound=AT_MOST),
    _rule(_GROUND, "slab_above_soil_mm", "Slab above finished soil", "mm", 150, 150, 400, sources.SLAB_ELSEWHERE,
          "The top of the slab above finished soil or lawn.", bound=AT_LEAST),
    _rule(_GROUND, "slab_above_sandy_mm", "Slab above sandy, well-drained ground", "mm", 100, 100, 400,
          sources.SLAB_ON_SAND, "Or where rainfall intensity is low.", bound=AT_LEAST),
    _rule(_GROUND, "slab_above_paving_mm", "Slab above paving", "mm", 50, 50, 400, sources.SLAB_AT_PAVING,
          "Paving or concrete that falls away from the wall.", bound=AT_LEAST),
    _rule(_GROUND, "ground_fall_mm", "Fall of the ground in the first metre", "mm", 50, 50, 300, sources.FALL,
          "Away from the wall, over the first 1 m.", bound=AT_LEAST),
    _rule(_GROUND, "ground_fall_low_rain_mm", "Fall in the first metre, low rainfall and hard surface", "mm", 25, 25, 300,
          sources.FALL, "Where rain is low and the surface lets no water in, or for a step-free path.",
          bound=AT_LEAST),
    _rule(_GROUND, "attachment_gap_mm", "Clear gap to an attachment", "mm", 25, 25, 300, sources.ATTACHMENTS,
          "An attachment without a system of its own keeps at least this gap.", bound=AT_LEAST),
    _rule(_GROUND, "soil_on_brick_max_mm", "Soil allowed on the brick above finished ground", "mm", 0, 0, 20,
          OWN, "Soil comes off before the treatment: the liquid would bond it to the wall."),
    _rule(_GROUND, "inspection_interval_months", "Time between inspections, at most", "months", 12, 1, 12,
          sources.INSPECTIONS, "Printed on the treatment record. Closer together is recommended.", bound=AT_MOST),
    _rule(_TIME, "due_working_days", "Fixes due before the treatment day, at least", "working days", 2, 0, 20,
          OWN, "Items are due this many working days before the wanted treatment date; kinds that "
          "take longer to check or dry are due earlier."),
    _rule(_TIME, "drying_hours", "Drying after wet cleaning", "h", 24, 1, 168, OWN,
          "Wet-cleaned brick is left to dry this long before the liquid goes on."),
    _rule(_TIME, "rain_drying_hours", "Drying after rain", "h", 24, 0, 168, OWN,
          "Rain is entered by hand; the wall is left to dry this long after it."),
    _rule(_TIME, "confirmation_valid_days", "A readiness confirmation is valid for", "days", 7, 1, 60,
          OWN, "After this it lapses."),
    _rule(_TIME, "confirmation_to_booking_days", "From confirmation to treatment, at most", "days", 7, 1, 60,
          OWN, "On a building site a wall does not stay clean for long."),
    _rule(_TIME, "shared_list_valid_days", "A shared fix list is valid for", "days", 21, 1, 120, OWN,
          "A link for a trade without an account."),
    _rule(_TIME, "invitation_valid_days", "An invitation is valid for", "days", 7, 1, 30, OWN,
          "The link in it signs a person in once; after this it has to be sent again."),
    _rule(_LIQUID, "litres_per_10_m", "Liquid per 10 lineal metres", "L", _D("1.0"), _D("0.2"), _D("10"),
          OWN, "For two courses of standard brick, sprayed on the mortar joints of face brick."),
    _rule(_LIQUID, "litres_less_percent", "A wall may take less by", "%", 20, 0, 90, OWN,
          "Dense brick, shallow joints."),
    _rule(_LIQUID, "litres_more_percent", "A wall may take more by", "%", 50, 0, 300, OWN,
          "Thirsty brick, deep or raked joints, wind."),
    _rule(_LIQUID, "render_litres_per_m2", "Liquid per square metre of render", "L/m²", _D("0.6"), _D("0.1"), _D("10"),
          OWN, "Render is treated over its whole face: 1 L over 10 m of two courses of 86 mm is 0.58 L/m². The "
          "product label decides."),
    _rule(_LIQUID, "waste_percent", "Waste allowance", "%", 10, 0, 50, OWN,
          "Added to what the walls take."),
    _rule(_LIQUID, "tank_litres", "First fill of the sprayer", "L", _D("5"), _D("1"), _D("200"), OWN,
          "About 5 L, then see how it goes."),
    _rule(_LIQUID, "drum_litres", "Drum", "L", _D("20"), _D("1"), _D("205"), OWN,
          "Size of the drums carried to site."),
    _rule(_LIQUID, "average_perimeter_m", "Perimeter of an average house", "m", 60, 10, 300, OWN,
          "Used when a site has no wall runs yet."),
    _rule(_LIQUID, "solvent_ml_per_sprayer", "Solvent for clean-out, each sprayer", "mL", 100, 10, 5000,
          OWN, "Left-over liquid goes back to its drum first."),
    _rule(_LIQUID, "sprayers", "Sprayers used", "", 1, 1, 10, OWN, "For the solvent."),
    _rule(_LIQUID, "pumps_per_5_l", "Pumps for 5 L", "", 18, 5, 40, OWN, "Low pressure: about 15 to 20."),
    _rule(_SEAL, "rod_oversize_percent", "Backing rod wider than the joint by", "%", 25, 0, 60, sources.BACKING_ROD,
          "25 to 35 % wider: the next stocked rod at or above width plus this."),
    _rule(_SEAL, "rod_diameters_mm", "Backing rod diameters stocked", "mm", (6, 8, 10, 13, 16, 20, 25, 30, 40, 50), 3,
          100, OWN, "What is in the van."),
    _rule(_SEAL, "sealant_depth_percent", "Sealant depth, share of the width", "%", 50, 30, 100, sources.SEALANT,
          "About half the width."),
    _rule(_SEAL, "sealant_depth_min_mm", "Thinnest sealant", "mm", 6, 3, 20, sources.SEALANT,
          "Never thinner than this, as far as the joint is deep enough."),
    _rule(_SEAL, "sealant_width_max_mm", "Widest gap for sealant", "mm", 25, 10, 50, OWN,
          "A plain gap between bricks that is wider is filled by the bricklayer; in a joint that must move, ask."),
    _rule(_SEAL, "crack_sealant_alone_max_mm", "Widest crack for sealant alone", "mm", 5, 1, 10, OWN,
          "Wider than this, backing rod goes in first."),
    _rule(_SEAL, "cartridge_ml", "Sealant cartridge", "mL", 600, 100, 1000, OWN,
          "What one cartridge or sausage holds."),
    _rule(_SEAL, "sealant_waste_percent", "Sealant waste allowance", "%", 10, 0, 50, OWN,
          "Added to the volume of the joints."),
    _rule(COSTS, "labour_cents_per_hour", "Applicator's time, an hour", "cents", 9000, 0, 100000, OWN,
          "For what cleaning would cost if the applicator must do it."),
)  # fmt: skip


def _minutes_rules() -> tuple[RuleValue, ...]:
    return tuple(
        _rule(COSTS, minutes_key(kind.slug), f"{kind.name}: time to put right", "min", kind.minutes,
              0, 960, OWN, "An estimate for each item, if the applicator must do it.")
        for kind in KINDS.values()
    )  # fmt: skip


RULE_VALUES: dict[str, RuleValue] = {rule.key: rule for rule in (*_TABLE, *_minutes_rules())}

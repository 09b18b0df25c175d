"""The table of rule values: data only, one entry a value, grouped as the rule-values page shows it."""
# ruff: noqa: E501  (a table reads best with one row a line)

from decimal import Decimal

from readiness.rules.defects.catalogue import KINDS
from readiness.rules.values.rule_value import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    PUBLISHED,
    SWITCH,
    RuleValue,
    Value,
    minutes_key,
)


def _rule(
    group: str,
    key: str,
    label: str,
    unit: str,
    default: Value,
    minimum: int | Decimal,
    maximum: int | Decimal,
    kind: str,
    source: str,
    explanation: str,
    fixed: bool = False,
) -> RuleValue:
    return RuleValue(
        key=key, label=label, unit=unit, default=default, minimum=minimum, maximum=maximum,
        source_kind=kind, source=source, business_may_change=not fixed, explanation=explanation,
        group=group,
    )  # fmt: skip


_GUIDE = (
    "NZS 4210:2001, 2.2 and its tolerance table, as cited in a brick veneer best-practice guide"
)
_NCC = "NCC 2019 Volume Two 3.1.3.3"
_AS3660_2 = "AS 3660.2:2017, after AS 3660.1"
_D = Decimal

_LEVELS, _BRICK, _GROUND = "Treatment line", "Brickwork", "Ground and surroundings"
_TIME, _LIQUID, _SEAL, COSTS = "Times", "Liquid", "Sealant and backing rod", "Time cost of defects"

_TABLE = (
    _rule(_LEVELS, "line_above_ground_mm", "Treatment line above finished ground", "mm", 75, 75, 300,
          PUBLISHED, "Inspection zone of at least 75 mm: public guidance on AS 3660.1; common practice",
          "The top of the treated band is at least this far above finished ground, at every distance."),
    _rule(_LEVELS, "min_step_length_mm", "Shortest level stretch between two steps", "mm", 240, 0, 5000,
          COMMON_PRACTICE, "", "The line is kept level for at least this length before it steps again."),
    _rule(_LEVELS, "prefer_fewest_steps", "Fewest steps rather than the lowest line", SWITCH, 0, 0, 1,
          COMMON_PRACTICE, "", "With 1, the line has as few steps as possible, then is as low as possible."),
    _rule(_LEVELS, "weep_courses_above_line", "Usual courses between the line and the weep holes", "courses",
          1, 0, 5, COMMON_PRACTICE, "",
          "Weep holes usually sit one course above the line, sometimes directly above it, never below it. "
          "Used for a note only."),
    _rule(_LEVELS, "courses_treated", "Courses treated", "courses", 2, 1, 12, COMMON_PRACTICE, "",
          "How many courses below the line are treated, unless a wall has its own number."),
    _rule(_BRICK, "joint_thickness_mm", "Mortar joint thickness", "mm", 10, 5, 20, PUBLISHED, _GUIDE,
          "The thickness that joints are laid at."),
    _rule(_BRICK, "joint_tolerance_mm", "Mortar joint tolerance, either way", "mm", 3, 1, 10, PUBLISHED, _GUIDE,
          "A joint may be this much thinner or thicker."),
    _rule(_BRICK, "bottom_joint_max_mm", "Thickest joint under the bottom course", "mm", 20, 10, 40, PUBLISHED,
          _GUIDE, "The bottom course may sit on a thicker joint."),
    _rule(_BRICK, "brick_length_mm", "Brick length", "mm", 230, 100, 600, FROM_MEMORY, "AS/NZS 4455.1 sizes",
          "Standard brick 230 x 110 x 76 mm; with a 10 mm joint, perpends are 240 mm apart."),
    _rule(_BRICK, "brick_height_mm", "Brick height", "mm", 76, 40, 300, FROM_MEMORY, "AS/NZS 4455.1 sizes",
          "Standard brick 230 x 110 x 76 mm; with a 10 mm joint, a course is 86 mm."),
    _rule(_BRICK, "gauge_courses", "Coursing: number of courses", "courses", 7, 1, 50, FROM_MEMORY,
          "brick coursing tables", "With the height below: 7 courses in 600 mm, so 85.7 mm a course."),
    _rule(_BRICK, "gauge_height_mm", "Coursing: height of these courses", "mm", 600, 60, 6000, FROM_MEMORY,
          "brick coursing tables", "Used where the gauge of a wall was not measured."),
    _rule(_BRICK, "gauge_min_mm", "Smallest gauge accepted", "mm", 60, 40, 80, COMMON_PRACTICE, "",
          "A measured gauge under this is refused as a wrong reading.", fixed=True),
    _rule(_BRICK, "gauge_max_mm", "Largest gauge accepted", "mm", 120, 90, 250, COMMON_PRACTICE, "",
          "A measured gauge over this is refused as a wrong reading.", fixed=True),
    _rule(_BRICK, "weep_spacing_max_mm", "Weep hole spacing, at most", "mm", 1200, 400, 1200, FROM_MEMORY,
          "ABCB Housing Provisions 5.7.5 (800 mm in the Ontario Building Code, Part 9)",
          "Weep holes further apart than this are noted."),
    _rule(_BRICK, "articulation_spacing_max_mm", "Articulation joint spacing, at most", "mm", 6000, 3000, 12000,
          FROM_MEMORY, "ABCB Housing Provisions 5.6.8; a public answer gives the same",
          "On a straight wall with no openings. A longer stretch gives a note, never a verdict."),
    _rule(_BRICK, "articulation_gap_mm", "Gap of an articulation joint", "mm", 10, 5, 40, FROM_MEMORY,
          "ABCB Housing Provisions 5.6.8; a public answer gives the same",
          "The gap left beside a door or window frame."),
    _rule(_BRICK, "unfilled_depth_max_mm", "Deepest recess of a joint that counts as filled", "mm", 3, 0, 15,
          COMMON_PRACTICE, "", "Deeper than this, the joint must be filled."),
    _rule(_GROUND, "slab_above_soil_mm", "Slab above finished soil", "mm", 150, 50, 400, FROM_MEMORY, _NCC,
          "The top of the slab above finished soil or lawn."),
    _rule(_GROUND, "slab_above_sandy_mm", "Slab above sandy, well-drained ground", "mm", 100, 50, 400, FROM_MEMORY,
          _NCC, "Or where rainfall intensity is low."),
    _rule(_GROUND, "slab_above_paving_mm", "Slab above paving", "mm", 50, 25, 400, FROM_MEMORY, _NCC,
          "Paving or concrete that falls away from the wall."),
    _rule(_GROUND, "ground_fall_mm", "Fall of the ground in the first metre", "mm", 50, 10, 300, PUBLISHED, _NCC,
          "Away from the wall, over the first 1 m."),
    _rule(_GROUND, "ground_fall_low_rain_mm", "Fall in the first metre, low rainfall and hard surface", "mm", 25, 10, 300,
          PUBLISHED, _NCC, "Where rainfall intensity is low and the surface is reasonably impermeable."),
    _rule(_GROUND, "attachment_gap_mm", "Clear gap to an attachment", "mm", 25, 25, 300, PUBLISHED,
          f"{_AS3660_2} (extract)", "An attachment without a system of its own keeps at least this gap."),
    _rule(_GROUND, "soil_on_brick_max_mm", "Soil allowed on the brick above finished ground", "mm", 0, 0, 20,
          COMMON_PRACTICE, "", "Nothing may bridge the inspection zone."),
    _rule(_GROUND, "inspection_interval_months", "Time between inspections, at most", "months", 12, 1, 12,
          PUBLISHED, "AS 3660.2:2017 (extract): not more than one calendar year",
          "Printed on the treatment record."),
    _rule(_TIME, "due_working_days", "Fixes due before the treatment day, at least", "working days", 2, 0, 20,
          COMMON_PRACTICE, "", "Items are due this many working days before the wanted treatment date; kinds that "
          "take longer to check or dry are due earlier."),
    _rule(_TIME, "drying_hours", "Drying after wet cleaning", "h", 24, 1, 168, COMMON_PRACTICE, "",
          "Wet-cleaned brick is left to dry this long before the liquid goes on."),
    _rule(_TIME, "rain_drying_hours", "Drying after rain", "h", 24, 0, 168, COMMON_PRACTICE, "",
          "Rain is entered by hand; the wall is left to dry this long after it."),
    _rule(_TIME, "confirmation_valid_days", "A readiness confirmation is valid for", "days", 7, 1, 60,
          COMMON_PRACTICE, "", "After this it lapses."),
    _rule(_TIME, "confirmation_to_booking_days", "From confirmation to treatment, at most", "days", 7, 1, 60,
          COMMON_PRACTICE, "", "On a building site a wall does not stay clean for long."),
    _rule(_TIME, "shared_list_valid_days", "A shared fix list is valid for", "days", 21, 1, 120, COMMON_PRACTICE, "",
          "A link for a trade without an account."),
    _rule(_TIME, "invitation_valid_days", "An invitation is valid for", "days", 7, 1, 30, COMMON_PRACTICE, "",
          "The link in it signs a person in once; after this it has to be sent again."),
    _rule(_LIQUID, "litres_per_10_m", "Liquid per 10 lineal metres", "L", _D("1.0"), _D("0.2"), _D("10"),
          COMMON_PRACTICE, "", "For the number of courses below, sprayed on the mortar joints of face brick."),
    _rule(_LIQUID, "litres_base_courses", "Courses that this is for", "courses", 2, 1, 10, COMMON_PRACTICE, "",
          "1 L per 10 lineal metres is for two courses."),
    _rule(_LIQUID, "render_litres_per_m2", "Liquid per square metre of render", "L/m²", _D("0.6"), _D("0.1"), _D("10"),
          COMMON_PRACTICE, "worked out: 1 L over 10 m x two courses of 85.7 mm is 0.58 L/m²",
          "Render is treated over its whole face. The product label decides."),
    _rule(_LIQUID, "waste_percent", "Waste allowance", "%", 10, 0, 50, COMMON_PRACTICE, "",
          "Added to what the walls take."),
    _rule(_LIQUID, "tank_litres", "First fill of the sprayer", "L", _D("5"), _D("1"), _D("200"), COMMON_PRACTICE, "",
          "About 5 L, then see how it goes."),
    _rule(_LIQUID, "drum_litres", "Drum", "L", _D("20"), _D("1"), _D("205"), COMMON_PRACTICE, "",
          "Size of the drums carried to site."),
    _rule(_LIQUID, "average_perimeter_m", "Perimeter of an average house", "m", 60, 10, 300, COMMON_PRACTICE, "",
          "Used when a site has no wall runs yet."),
    _rule(_LIQUID, "solvent_ml_per_sprayer", "Solvent for clean-out, each sprayer", "mL", 100, 10, 5000,
          COMMON_PRACTICE, "", "Left-over liquid goes back to its drum first."),
    _rule(_LIQUID, "sprayers", "Sprayers used", "", 1, 1, 10, COMMON_PRACTICE, "", "For the solvent."),
    _rule(_LIQUID, "pumps_per_5_l", "Pumps for 5 L", "", 18, 5, 40, COMMON_PRACTICE, "about 15 to 20",
          "Low pressure."),
    _rule(_SEAL, "rod_oversize_percent", "Backing rod wider than the joint by", "%", 25, 0, 60, FROM_MEMORY,
          "ASTM C1193", "The next stocked rod at or above width plus this."),
    _rule(_SEAL, "rod_diameters_mm", "Backing rod diameters stocked", "mm", (6, 8, 10, 13, 16, 20, 25, 30, 40, 50), 3,
          100, COMMON_PRACTICE, "", "What is in the van."),
    _rule(_SEAL, "sealant_depth_percent", "Sealant depth, share of the width", "%", 50, 30, 100, FROM_MEMORY,
          "ASTM C1193", "About half the width."),
    _rule(_SEAL, "sealant_depth_min_mm", "Thinnest sealant", "mm", 6, 3, 20, FROM_MEMORY, "ASTM C1193",
          "Never thinner than this, as far as the joint is deep enough."),
    _rule(_SEAL, "sealant_width_max_mm", "Widest gap for sealant", "mm", 25, 10, 50, COMMON_PRACTICE, "",
          "A plain gap between bricks that is wider is filled by the bricklayer; in a joint that must move, ask."),
    _rule(_SEAL, "crack_sealant_alone_max_mm", "Widest crack for sealant alone", "mm", 5, 1, 10, COMMON_PRACTICE, "",
          "Wider than this, backing rod goes in first."),
    _rule(_SEAL, "cartridge_ml", "Sealant cartridge", "mL", 600, 100, 1000, COMMON_PRACTICE, "",
          "What one cartridge or sausage holds."),
    _rule(_SEAL, "sealant_waste_percent", "Sealant waste allowance", "%", 10, 0, 50, COMMON_PRACTICE, "",
          "Added to the volume of the joints."),
    _rule(COSTS, "labour_cents_per_hour", "Applicator's time, an hour", "cents", 9000, 0, 100000, COMMON_PRACTICE,
          "the business sets it", "For what cleaning would cost if the applicator must do it."),
)  # fmt: skip


def _minutes_rules() -> tuple[RuleValue, ...]:
    return tuple(
        _rule(COSTS, minutes_key(kind.slug), f"{kind.name}: time to put right", "min", kind.minutes,
              0, 960, COMMON_PRACTICE, "an estimate; the business sets it",
              "For each item, if the applicator must do it.")
        for kind in KINDS.values()
    )  # fmt: skip


RULE_VALUES: dict[str, RuleValue] = {rule.key: rule for rule in (*_TABLE, *_minutes_rules())}

"""The catalogue of what can be found on a wall.

Adding a kind of defect is adding one entry to `_ENTRIES` (and its drawing, under the same slug, in
`readiness/papers/drawings/symbols/`). Everything else follows from the entry: buttons, forms,
checks of the measurement, required fix, usual trade, due date and time cost.
"""

from readiness.rules.defects.defect_kind import (
    AT_LEAST,
    AT_MOST,
    INFORMATION,
    DefectKind,
    Measurement,
    MeasurementCheck,
    check_measurement,
)
from readiness.rules.vocabulary import (
    EFFECTS,
    FINISHES,
    ITEM_STATES,
    STATES,
    SURFACES,
    TRADES,
    State,
    Trade,
)
from readiness.rules.words import metres, where

__all__ = [
    "AT_LEAST",
    "AT_MOST",
    "EFFECTS",
    "FINISHES",
    "INFORMATION",
    "ITEM_STATES",
    "KINDS",
    "STATES",
    "SURFACES",
    "TRADES",
    "DefectKind",
    "Measurement",
    "MeasurementCheck",
    "State",
    "check_measurement",
    "choices",
    "get_kind",
    "kind_choices",
    "place",
]

# What is said with every fix of a kind, whoever words the fix: what must never be done meanwhile.
_NO_MORTAR = "No mortar in an articulation joint, against a frame or round a pipe: ask us first."
_DUST = "Keep the dust down and wear a mask: it holds silica."
_NO_ACID = "No acid on brick that is to be treated: ask us first."
_DIGGING = "Find buried pipes and cables before you dig."

_ENTRIES = (
    DefectKind(
        slug="unfilled_joint",
        name="Unfilled mortar joint",
        prompt="Unfilled joint",
        look_for="Holes, missing or loose mortar in a bed joint or perpend inside the band to be "
        "treated. Push a screwdriver in: it should stop at the face.",
        fix="Rake out loose mortar and fill the joints solid to the face {where}, then brush off.",
        fix_measured="The joint is open {found} deep. Rake out loose mortar, fill it solid to the "
        "face {where}, then brush off.",
        care=f"{_NO_MORTAR} {_DUST}",
        measurement=Measurement(
            "Depth of the hole",
            "mm",
            1,
            230,
            "unfilled_depth_max_mm",
            AT_MOST,
            "From the face of the brick to where the mortar starts.",
        ),
        trade=Trade.BRICKLAYER,
        minutes=15,
        working_days=3,
    ),
    DefectKind(
        slug="gap_too_wide",
        name="Gap too wide for sealant",
        prompt="Gap too wide",
        look_for="A gap in or beside the brickwork that is wider than sealant over a backing rod "
        "can bridge. For an articulation joint, use “Joint not sealed”.",
        fix="If it is a plain gap between bricks, fill it with mortar {where} so that no more than "
        "{needed} is left to seal.",
        fix_measured="The gap is {found} wide, {difference} more than sealant can take. If it is a "
        "plain gap between bricks, fill it with mortar {where} so that no more than {needed} is "
        "left.",
        care=_NO_MORTAR,
        measurement=Measurement(
            "Width of the gap",
            "mm",
            1,
            300,
            "sealant_width_max_mm",
            AT_MOST,
            "At the widest place.",
        ),
        measurement_required=True,
        trade=Trade.BRICKLAYER,
        minutes=20,
        working_days=3,
    ),
    DefectKind(
        slug="articulation_unsealed",
        name="Articulation joint not sealed",
        prompt="Joint not sealed",
        look_for="An articulation (expansion) joint with no backing rod and sealant up to the "
        "height of the treatment.",
        fix="Clean the joint out, press in backing rod and seal it with flexible sealant {where}, "
        "from below finished ground to the top of the treated band.",
        fix_measured="The joint is {found} wide, more than sealant can take ({needed}). Ask us "
        "before filling it {where}: the joint must still be able to move.",
        measurement=Measurement(
            "Width of the joint",
            "mm",
            1,
            100,
            "sealant_width_max_mm",
            AT_MOST,
            "At the widest place in the band to be treated.",
        ),
        trade=Trade.SEALING,
        minutes=20,
        working_days=3,
        has_extent=False,
    ),
    DefectKind(
        slug="tight_crack",
        name="Tight crack not sealed",
        prompt="Tight crack",
        look_for="A crack too tight for backing rod: beside a frame, at a step, or along a joint.",
        fix="Brush the crack clean and seal it with flexible sealant {where}. No backing rod is "
        "needed.",
        fix_measured="The crack is {found} wide: too wide for sealant alone (up to {needed}). "
        "Press in backing rod, then seal it {where}.",
        measurement=Measurement(
            "Width of the crack",
            "mm",
            1,
            50,
            "crack_sealant_alone_max_mm",
            AT_MOST,
            "At the widest place.",
        ),
        trade=Trade.SEALING,
        minutes=10,
        working_days=2,
    ),
    DefectKind(
        slug="soil_against_brick",
        name="Soil against brick",
        prompt="Soil against brick",
        look_for="Soil, sand, rubble or mulch heaped against the brick, over the band to be "
        "treated or over the weep holes.",
        fix="Take the soil away from the brick {where}, down to finished ground level, and brush "
        "the brick clean and dry.",
        fix_measured="Soil lies {found} up the brick. Take it away {where}, down to finished "
        "ground level, and brush the brick clean and dry.",
        care=_DIGGING,
        measurement=Measurement(
            "Height of the soil on the brick",
            "mm",
            1,
            2000,
            "soil_on_brick_max_mm",
            AT_MOST,
            "From finished ground level up to the top of the heap.",
        ),
        trade=Trade.EARTHWORKS,
        minutes=30,
        working_days=2,
    ),
    DefectKind(
        slug="ground_too_high",
        name="Ground or paving too high",
        prompt="Ground too high",
        look_for="Ground or paving that leaves too little wall between it and the line or the "
        "weep holes. Think of paving and topsoil still to come.",
        fix="Lower the ground or paving {where} so that at least {needed} of clear wall is left "
        "under the treatment line.",
        fix_measured="Only {found} of clear wall is left. Lower the ground or paving by "
        "{difference} {where}, so that there is at least {needed}.",
        care=_DIGGING,
        measurement=Measurement(
            "Clear wall under the line",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "From finished ground or paving up to the highest joint that can be used.",
        ),
        measurement_required=True,
        trade=Trade.EARTHWORKS,
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="render_line_low",
        name="Render line too low",
        prompt="Render line too low",
        look_for="The joint cut in the render (struck joint) is too close to finished ground.",
        fix="Cut the struck joint higher {where}, so that it is at least {needed} above finished "
        "ground.",
        fix_measured="The struck joint is {found} above finished ground. Raise it by {difference} "
        "{where}, or lower the ground by the same, so that there is at least {needed}.",
        care=f"If you cut a new joint, make good the old one. {_DUST} {_DIGGING}",
        measurement=Measurement(
            "Height of the struck joint above finished ground",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "At the lowest place.",
        ),
        measurement_required=True,
        trade=Trade.RENDERER,
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="no_struck_joint",
        name="No struck joint in render",
        prompt="No struck joint",
        look_for="Render runs into the ground, with no joint cut in it (struck joint) where the "
        "treatment can end.",
        fix="Cut a joint through the render (struck joint) {where}, at least {needed} above "
        "finished ground, straight and level, and brush it clean.",
        care=_DUST,
        measurement=Measurement(
            "Height wanted above finished ground",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "If you have agreed on one.",
        ),
        trade=Trade.RENDERER,
        minutes=90,
        working_days=4,
    ),
    DefectKind(
        slug="weep_hole_blocked",
        name="Weep hole blocked",
        prompt="Weep hole blocked",
        look_for="A weep hole filled with mortar, render, foam, sealant or soil.",
        fix="Clear the weep hole {where} right through to the cavity, without damage to the "
        "flashing.",
        trade=Trade.BRICKLAYER,
        minutes=5,
        working_days=2,
    ),
    DefectKind(
        slug="weep_hole_low",
        name="Weep hole too low",
        prompt="Weep hole too low",
        look_for="A weep hole at or under the treatment line, or closer to finished ground than "
        "the line must be.",
        fix="Lower the ground {where} so that the weep hole is at least {needed} above it, or ask "
        "us before you change the weep holes.",
        fix_measured="The weep hole is {found} above finished ground. Lower the ground by "
        "{difference} {where}, so that there is at least {needed}; ask us before you change the "
        "weep holes.",
        care=_DIGGING,
        measurement=Measurement(
            "Underside of the weep hole above finished ground",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "At the lowest weep hole.",
        ),
        measurement_required=True,
        trade=Trade.EARTHWORKS,
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="mortar_drop",
        name="Mortar drop",
        prompt="Mortar drop",
        look_for="Mortar dropped on the footing, the slab edge or the brick, where it makes a "
        "bridge or covers a joint.",
        fix="Chip the dropped mortar off {where} and brush the brick and joint clean.",
        trade=Trade.BRICKLAYER,
        minutes=10,
        working_days=2,
    ),
    DefectKind(
        slug="dirty_brick",
        wets_wall=True,
        name="Dirty brick",
        prompt="Dirty brick",
        look_for="Mortar smears, mud, dust or paint on the band to be treated. Wipe it with a dry "
        "glove: if dirt comes off, so will the treatment.",
        fix="Brush or wash the brick clean {where} and let it dry before the treatment.",
        care=_NO_ACID,
        trade=Trade.CLEANER,
        minutes=20,
        working_days=2,
    ),
    DefectKind(
        slug="wet_brick",
        wets_wall=True,
        name="Wet brick",
        prompt="Wet brick",
        look_for="Brick or joints that are wet to the touch or darker than the dry wall above.",
        fix="Keep water off the wall {where} and let it dry. Find and stop what wets it "
        "(hose, downpipe, sprinkler).",
        trade=Trade.BUILDER,
        minutes=0,
        working_days=2,
    ),
    DefectKind(
        slug="tap_splashes",
        wets_wall=True,
        name="Splashes at the tap",
        prompt="Splashes at tap",
        look_for="Mortar, paint or mud splashed on the wall beside the outdoor tap, where trades "
        "wash their tools.",
        fix="Clean the wall beside the tap {where}, let it dry, and keep trades from washing tools "
        "there until the treatment is done.",
        care=_NO_ACID,
        trade=Trade.CLEANER,
        minutes=20,
        working_days=1,
    ),
    DefectKind(
        slug="timber_against_wall",
        name="Timber or formwork against the wall",
        prompt="Timber against wall",
        look_for="Formwork, pegs, pallets, offcuts or stored timber left against the wall or "
        "buried beside it.",
        fix="Take all timber and formwork away from the wall {where}, pegs and offcuts in the "
        "ground as well.",
        trade=Trade.CARPENTER,
        minutes=20,
        working_days=2,
    ),
    DefectKind(
        slug="attachment_too_close",
        name="Attachment too close to the wall",
        prompt="Attachment too close",
        look_for="A post, step, deck, fence, tank, air-conditioner base or meter box without a "
        "clear gap to the wall.",
        fix="Move it {where} so that a clear gap of at least {needed} is left to the wall.",
        fix_measured="The clear gap is {found}. Move it {difference} further from the wall "
        "{where}, so that there is at least {needed}.",
        care="Leave a meter, gas or power installation where it is: ask us and its own trade.",
        measurement=Measurement(
            "Clear gap to the wall",
            "mm",
            0,
            1000,
            "attachment_gap_mm",
            AT_LEAST,
            "At the closest place.",
        ),
        measurement_required=True,
        trade=Trade.BUILDER,
        minutes=45,
        working_days=4,
    ),
    DefectKind(
        slug="access_blocked",
        name="Access blocked",
        prompt="Access blocked",
        look_for="Scaffold, stacks, bins, machines or fences that keep a person with a sprayer "
        "from the wall.",
        fix="Clear the way {where}: a strip about 1 m wide along the wall, safe to walk on.",
        trade=Trade.BUILDER,
        minutes=30,
        working_days=1,
    ),
    DefectKind(
        slug="other",
        name="Something else",
        prompt="Something else",
        look_for="Anything that is not in the list. Say what it is and what must be done.",
        fix="",
        trade=Trade.BUILDER,
        minutes=15,
        working_days=3,
    ),
)

KINDS: dict[str, DefectKind] = {kind.slug: kind for kind in _ENTRIES}


RETIRED: dict[str, str] = {}
"""Names of kinds that were taken out, by slug: items of them are kept, none is added."""


def get_kind(slug: str) -> DefectKind:
    """The catalogue's entry; for a kind that was taken out, a plain one with its name."""
    return KINDS.get(slug) or _taken_out(slug)


def _taken_out(slug: str) -> DefectKind:
    name = RETIRED.get(slug) or slug.replace("_", " ").strip().capitalize()
    return DefectKind(
        slug=slug,
        name=name,
        prompt="",
        look_for="",
        fix="",
        trade=Trade.BUILDER,
        minutes=0,
        drawing="other",
    )


def choices(words: dict[str, str]) -> list[tuple[str, str]]:
    """A dictionary of slug to words, as the pairs that a form wants."""
    return list(words.items())


def kind_choices() -> list[tuple[str, str]]:
    """All kinds as (slug, name)."""
    return [(kind.slug, kind.name) for kind in KINDS.values()]


def place(run_label: str, from_mm: int | None, to_mm: int | None) -> str:
    """Where an item is, in words: "North wall, from 2.4 m to 5.1 m (2.7 m)"."""
    at = where(from_mm, to_mm)
    if not at:
        return run_label
    if from_mm is None or to_mm is None or to_mm <= from_mm:
        return f"{run_label}, {at}"
    return f"{run_label}, {at} ({metres(to_mm - from_mm)})"

"""The edge of the house slab, under the brick."""

from readiness.rules.defects.defect_kind import DefectKind, Measurement
from readiness.rules.values.rule_value import AT_MOST
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="slab_edge_hidden",
        name="Slab edge hidden",
        look_for="The edge of the slab is meant to stay in view, and soil, paving, render, "
        "sheeting or formwork covers it.",
        fix="Uncover the edge of the slab {where} and leave it bare. If that can't be done, ask "
        "us: the technician decides, and the report says that the edge can't be seen.",
        cautions=(Caution.SERVICES,),
        trade=Trade.BUILDER,
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="slab_edge_honeycombed",
        name="Slab edge honeycombed",
        look_for="Holes and loose stones (honeycombing), or a cold joint, in the edge of the slab: "
        "termites can come through unseen.",
        fix="Ask the engineer how the edge of the slab is repaired {where}, have it repaired that "
        "way, and show it to us before it is covered.",
        trade=Trade.BUILDER,
        minutes=120,
        working_days=5,
    ),
    DefectKind(
        slug="brick_overhang",
        name="Brick overhangs the slab",
        look_for="Brick that stands out past the edge of the slab.",
        fix="Ask the engineer what has to be done {where}: brick may stand at most {needed} past "
        "the edge of the slab. Do not pack or render over it; show us the answer.",
        fix_measured="The brick stands {found} past the edge of the slab, {difference} over the "
        "limit of {needed}. Ask the engineer what has to be done {where}. Do not pack or render "
        "over it; show us the answer.",
        measurement=Measurement(
            "Brick past the edge of the slab",
            "mm",
            1,
            110,
            "brick_overhang_max_mm",
            AT_MOST,
            "At the widest place.",
        ),
        measurement_required=True,
        trade=Trade.BUILDER,
        minutes=120,
        working_days=5,
    ),
)

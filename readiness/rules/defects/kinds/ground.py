"""Ground, paving and slabs at the foot of the wall."""

from readiness.rules.defects.defect_kind import DefectKind, Measurement
from readiness.rules.values.rule_value import AT_LEAST, AT_MOST
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="soil_against_brick",
        name="Soil against brick",
        look_for="Soil, sand, rubble or mulch heaped against the brick, over the band to be "
        "treated or over the weep holes.",
        fix="Take the soil away from the brick {where}, down to finished ground level, and brush "
        "the brick clean and dry.",
        fix_measured="Soil lies {found} up the brick. Take it away {where}, down to finished "
        "ground level, and brush the brick clean and dry.",
        cautions=(Caution.SERVICES,),
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
        look_for="Ground or paving that leaves too little wall between it and the line or the "
        "weep holes. Think of paving and topsoil still to come.",
        fix="Lower the ground or paving {where} so that at least {needed} of clear wall is left "
        "under the treatment line.",
        fix_measured="Only {found} of clear wall is left. Lower the ground or paving by "
        "{difference} {where}, so that there is at least {needed}.",
        cautions=(Caution.SERVICES,),
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
        slug="slab_against_wall",
        name="Slab or path against brick",
        look_for="A slab, path, porch or alfresco cast against the wall over the band to be "
        "treated, so that nobody can see or reach the brick behind it.",
        fix="Cut it back {where}, so that a clear gap of at least {attachment_gap_mm} is left to "
        "the brick, down past the band to be treated. If that can't be done, ask us: the "
        "technician decides what protects the wall behind it.",
        fix_measured="Only {found} of clear wall is left above it ({needed} needed). Cut it back "
        "{where}, so that a clear gap of at least {attachment_gap_mm} is left to the brick, down "
        "past the band to be treated. If that can't be done, ask us: the technician decides what "
        "protects the wall behind it.",
        cautions=(Caution.SILICA, Caution.SERVICES),
        measurement=Measurement(
            "Clear wall above it",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "From its top up to the joint where the treatment ends.",
        ),
        trade=Trade.PAVING,
        minutes=120,
        working_days=5,
    ),
    DefectKind(
        slug="retaining_wall",
        name="Retaining wall or garden edge",
        look_for="A retaining wall or garden edge built against the house, so that it or the soil "
        "behind it lies over the band to be treated.",
        fix="Take it back {where}, so that a clear gap of at least {needed} is left to the house "
        "wall and no soil lies against the brick. If it holds the ground up, ask the engineer "
        "first.",
        fix_measured="The clear gap is {found}, {difference} less than needed. Take it back "
        "{where}, so that a clear gap of at least {needed} is left to the house wall and no soil "
        "lies against the brick. If it holds the ground up, ask the engineer first.",
        cautions=(Caution.SERVICES,),
        measurement=Measurement(
            "Clear gap to the house wall",
            "mm",
            0,
            1000,
            "attachment_gap_mm",
            AT_LEAST,
            "At the closest place.",
        ),
        trade=Trade.EARTHWORKS,
        minutes=120,
        working_days=5,
    ),
    DefectKind(
        slug="work_to_come",
        name="Work still to come",
        look_for="A driveway, landscaping, a fence or a deck that comes after the treatment and "
        "will cut, cover or dig along the treated band.",
        fix="Tell us what is still to come {where} and when. Get it done before the treatment "
        "where you can. What comes later must leave the treated band uncut, uncovered and open "
        "to see: ask us before it starts.",
        cautions=(Caution.SERVICES,),
        trade=Trade.BUILDER,
        minutes=0,
        working_days=2,
    ),
)

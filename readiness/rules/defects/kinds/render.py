"""Render, and the joint cut in it (struck joint)."""

from readiness.rules.defects.defect_kind import INFORMATION, DefectKind, Measurement
from readiness.rules.values.rule_value import AT_LEAST
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="render_line_low",
        name="Render line too low",
        look_for="The joint cut in the render (struck joint) is too close to finished ground.",
        fix="Cut a new joint in the render (struck joint) {where}, at least {needed} above "
        "finished ground, and make good the old one.",
        fix_measured="The joint cut in the render (struck joint) is {found} above finished ground. "
        "Cut a new one {difference} higher {where} and make good the old one, or lower the ground "
        "by {difference}, so that there is at least {needed}.",
        cautions=(Caution.SILICA, Caution.SERVICES),
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
        look_for="Render with no joint cut in it (struck joint) where the treatment can end.",
        fix="Cut a joint through the render (struck joint) {where}, at least {needed} above "
        "finished ground, straight and level, and brush it clean.",
        cautions=(Caution.SILICA,),
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
        slug="render_below_ground",
        name="Render below ground",
        look_for="Render or texture coating that goes on below finished ground, or over weep "
        "holes.",
        fix="Ask us at what height the render has to end {where}. Cut it off there, clear of "
        "finished ground, and open covered weep holes right through to the cavity.",
        cautions=(Caution.SILICA, Caution.SERVICES),
        measurement=Measurement(
            "How far it goes below finished ground",
            "mm",
            1,
            1000,
            None,
            INFORMATION,
            "As far as you can see or feel.",
        ),
        trade=Trade.RENDERER,
        minutes=90,
        working_days=4,
    ),
)

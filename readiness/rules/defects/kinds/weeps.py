"""Weep holes, and the cavity behind them."""

from readiness.rules.defects.defect_kind import DefectKind, Measurement
from readiness.rules.values.rule_value import AT_LEAST
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="weep_hole_blocked",
        name="Weep hole blocked",
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
        look_for="A weep hole at or under the treatment line, or closer to finished ground than "
        "the line must be.",
        fix="Lower the ground {where} so that the weep hole is at least {needed} above it, or ask "
        "us before you change the weep holes.",
        fix_measured="The weep hole is {found} above finished ground. Lower the ground by "
        "{difference} {where}, so that there is at least {needed}; ask us before you change the "
        "weep holes.",
        cautions=(Caution.SERVICES,),
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
        slug="cavity_mortar",
        name="Mortar bridging the cavity",
        look_for="Mortar in the cavity that reaches from the brick to the frame or inner wall. "
        "Look in through a weep hole or an opening.",
        fix="Clear the mortar out of the cavity {where}, without damage to the flashing, and show "
        "it in a photo through the weep hole or opening. If you can't reach it, ask us before "
        "you take bricks out.",
        cautions=(Caution.SILICA,),
        trade=Trade.BRICKLAYER,
        minutes=60,
        working_days=4,
    ),
)

"""What stands against the wall, or keeps people from it."""

from readiness.rules.defects.defect_kind import DefectKind, Measurement
from readiness.rules.values.rule_value import AT_LEAST
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="timber_against_wall",
        name="Timber against the wall",
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
        name="Attachment too close",
        look_for="A post, step, deck, fence, tank or box without a clear gap to the wall. For a "
        "pad or base under a unit, use “Pad or base against wall”.",
        fix="Leave a clear gap of at least {needed} to the wall {where}; or isolate it with a "
        "termite management system of its own; or fit an inspection panel that comes off, so that "
        "the wall behind can be seen. Tell us which.",
        fix_measured="The clear gap is {found}, {difference} less than the {needed} needed. Widen "
        "the gap {where}; or isolate it with a termite management system of its own; or fit an "
        "inspection panel that comes off, so that the wall behind can be seen. Tell us which.",
        cautions=(Caution.INSTALLATIONS,),
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
        slug="pad_against_wall",
        name="Pad or base against wall",
        look_for="The pad or base of an air conditioner, hot water unit, tank or meter, cast or "
        "set against the wall.",
        fix="Leave a clear gap of at least {needed} between pad and wall {where}; or isolate the "
        "pad with a termite management system of its own; or keep a way to inspect the wall "
        "behind it. Ask the trade that owns the unit which of these can be done, and tell us.",
        fix_measured="The clear gap is {found}, {difference} less than the {needed} needed. Widen "
        "the gap {where}; or isolate the pad with a termite management system of its own; or keep "
        "a way to inspect the wall behind it. Ask the trade that owns the unit which of these can "
        "be done, and tell us.",
        cautions=(Caution.INSTALLATIONS,),
        measurement=Measurement(
            "Clear gap to the wall",
            "mm",
            0,
            1000,
            "attachment_gap_mm",
            AT_LEAST,
            "At the closest place.",
        ),
        trade=Trade.BUILDER,
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="access_blocked",
        name="Access blocked",
        look_for="Scaffold, stacks, bins, machines or fences that keep a person with a sprayer "
        "from the wall.",
        fix="Clear the way {where}: a strip about 1 m wide along the wall, safe to walk on.",
        trade=Trade.BUILDER,
        minutes=30,
        working_days=1,
    ),
)

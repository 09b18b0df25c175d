"""What lies on the brick: mortar, dirt, water, acid and coatings."""

from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="mortar_drop",
        name="Mortar drop",
        look_for="Mortar dropped on the footing, the slab edge or the brick, where it makes a "
        "bridge or covers a joint.",
        fix="Chip the dropped mortar off {where} and brush the brick and joint clean.",
        cautions=(Caution.SILICA,),
        trade=Trade.BRICKLAYER,
        minutes=10,
        working_days=2,
    ),
    DefectKind(
        slug="dirty_brick",
        wets_wall=True,
        name="Dirty brick",
        look_for="Mortar smears, mud, dust or splashes of paint on the band to be treated. Wipe it "
        "with a dry glove: if dirt comes off, so will the treatment.",
        fix="Brush or wash the brick clean {where} and let it dry before the treatment.",
        cautions=(Caution.NO_ACID, Caution.WASHING),
        trade=Trade.CLEANER,
        minutes=20,
        working_days=2,
    ),
    DefectKind(
        slug="wet_brick",
        wets_wall=True,
        name="Wet brick",
        look_for="Brick or joints that are wet to the touch or darker than the dry wall above.",
        fix="Keep water off the wall {where} and let it dry. Find and stop what wets it "
        "(hose, sprinkler, downpipe).",
        trade=Trade.BUILDER,
        minutes=0,
        working_days=2,
    ),
    DefectKind(
        slug="tap_splashes",
        wets_wall=True,
        name="Splashes at the tap",
        look_for="Mortar, paint or mud splashed on the wall beside the outdoor tap, where trades "
        "wash their tools.",
        fix="Clean the wall beside the tap {where}, let it dry, and keep trades from washing tools "
        "there until the treatment is done.",
        cautions=(Caution.NO_ACID, Caution.WASHING),
        trade=Trade.CLEANER,
        minutes=20,
        working_days=1,
    ),
    DefectKind(
        slug="water_on_wall",
        wets_wall=True,
        name="Downpipe, tap or drip",
        look_for="A downpipe that is not connected, or a tap, overflow or condensate pipe that "
        "drips on the wall.",
        fix="Connect the downpipe, or lead the drip away from the wall {where}, and let the wall "
        "dry before the treatment.",
        trade=Trade.PLUMBER,
        minutes=20,
        working_days=3,
    ),
    DefectKind(
        slug="acid_wash",
        wets_wall=True,
        name="Acid wash",
        look_for="An acid wash of the brick that is still to come, or one that was not rinsed off "
        "and neutralised.",
        fix="Finish the acid wash before the treatment, never after it. Rinse the wall {where}, "
        "neutralise it, rinse it again and let it dry. Tell us when that was.",
        cautions=(Caution.NO_ACID, Caution.ACID, Caution.WASHING),
        trade=Trade.CLEANER,
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="coated_brick",
        name="Coating or salt on brick",
        look_for="Water repellent or sealer (water beads off), paint, or white salt "
        "(efflorescence) on the band to be treated.",
        fix="Brush salt off dry {where}. Tell us which water repellent, sealer or paint is on the "
        "brick, and ask us before you strip it: the technician decides whether the wall can be "
        "treated.",
        cautions=(Caution.NO_ACID,),
        trade=Trade.BUILDER,
        minutes=30,
        working_days=4,
    ),
)

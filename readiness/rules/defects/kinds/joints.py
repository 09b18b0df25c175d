"""Joints, gaps and cracks, and broken brick.

Who fills a gap goes by what it is in: mortar between bricks is the bricklayer's; a joint that must
move takes backing rod and flexible sealant; at a frame or a pipe the trade that owns it decides.
"""

from readiness.rules.defects.defect_kind import INFORMATION, DefectKind, Measurement
from readiness.rules.values.rule_value import AT_MOST
from readiness.rules.vocabulary import Caution, Trade

KINDS = (
    DefectKind(
        slug="unfilled_joint",
        name="Unfilled mortar joint",
        look_for="Holes, missing or loose mortar in a bed joint or perpend inside the band to be "
        "treated. Push a screwdriver in: it should stop at the face.",
        fix="Rake out loose mortar and fill the joints solid to the face {where}, then brush off.",
        fix_measured="The joint is open {found} deep. Rake out loose mortar, fill it solid to the "
        "face {where}, then brush off.",
        cautions=(Caution.NO_MORTAR, Caution.SILICA),
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
        slug="articulation_unsealed",
        name="Articulation joint not sealed",
        look_for="An articulation (expansion) joint with no backing rod and sealant up to the "
        "height of the treatment.",
        fix="Clean the joint out, press in backing rod and seal it with flexible sealant {where}, "
        "from below finished ground to the top of the treated band. Too shallow for both: ask us.",
        fix_by_size=(
            (
                "crack_sealant_alone_max_mm",
                "The joint is only {found} wide, too tight for backing rod. Ask us before you seal "
                "it {where}: it has to be able to move.",
            ),
        ),
        fix_measured="The joint is {found} wide, more than sealant can take ({needed}). Ask us "
        "before filling it {where}: the joint must still be able to move.",
        cautions=(Caution.NO_MORTAR, Caution.SEALANT),
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
        name="Open crack",
        look_for="A crack through mortar or brick, from hairline to wide. Not an articulation "
        "joint, and not a gap at a frame or a pipe: they have tiles of their own.",
        fix="Brush the crack clean and seal it with flexible sealant {where}. If it is more than "
        "{crack_sealant_alone_max_mm} wide, find out why it opened, and press in backing rod "
        "first.",
        fix_by_size=(
            (
                "crack_sealant_alone_max_mm",
                "The crack is {found} wide: sealant alone will do. Brush it clean and seal it with "
                "flexible sealant {where}.",
            ),
            (
                "sealant_width_max_mm",
                "The crack is {found} wide, too wide for sealant alone. Find out why it opened. "
                "Then brush it clean, press in backing rod and seal it with flexible sealant "
                "{where}.",
            ),
        ),
        fix_measured="The crack is {found} wide, more than sealant can take ({needed}). Find out "
        "why it opened, and ask us before anything goes in {where}.",
        cautions=(Caution.SEALANT,),
        measurement=Measurement(
            "Width of the crack",
            "mm",
            1,
            100,
            "sealant_width_max_mm",
            AT_MOST,
            "At the widest place, rounded up: a hairline crack is 1.",
        ),
        trade=Trade.SEALING,
        minutes=10,
        working_days=2,
    ),
    DefectKind(
        slug="gap_too_wide",
        name="Gap between bricks",
        look_for="A gap between two bricks where mortar was left out, too wide for sealant over a "
        "backing rod. If the gap runs up the wall course after course, the joint has to move: "
        "use “Articulation joint not sealed”.",
        fix="Fill the gap between the bricks with mortar {where}, solid to the face, then brush "
        "off.",
        fix_measured="The gap is {found} wide, {difference} more than sealant can take. Fill it "
        "between the bricks with mortar {where}, solid to the face, then brush off.",
        cautions=(Caution.NO_MORTAR, Caution.SILICA),
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
        slug="pipe_not_sealed",
        name="Pipe or conduit not sealed",
        look_for="A pipe, conduit or cable through the wall in the band to be treated, with a gap "
        "round it and no collar. For a conduit or cable, choose the electrician.",
        fix="Close the gap round the pipe or conduit {where} with a collar or a flexible seal, as "
        "the trade that owns it decides.",
        cautions=(Caution.NO_MORTAR, Caution.SEALANT),
        measurement=Measurement(
            "Gap round the pipe",
            "mm",
            1,
            200,
            None,
            INFORMATION,
            "At the widest place.",
        ),
        trade=Trade.PLUMBER,
        minutes=20,
        working_days=3,
        has_extent=False,
    ),
    DefectKind(
        slug="gap_at_frame",
        name="Gap beside a frame",
        look_for="An open gap between the brick and a door or window frame in the band to be "
        "treated.",
        fix="Close the gap {where} with a flexible seal, as the trade that fitted the frame "
        "decides: frame and brick must be able to move.",
        fix_measured="The gap is {found} wide, more than sealant can take ({needed}). Ask us and "
        "the trade that fitted the frame before it is closed {where}.",
        cautions=(Caution.NO_MORTAR, Caution.SEALANT),
        measurement=Measurement(
            "Width of the gap",
            "mm",
            1,
            200,
            "sealant_width_max_mm",
            AT_MOST,
            "At the widest place.",
        ),
        trade=Trade.CARPENTER,
        minutes=20,
        working_days=3,
    ),
    DefectKind(
        slug="broken_brick",
        name="Broken or missing brick",
        look_for="Bricks in the band that are missing or broken through, or holes left by "
        "scaffold (put-log holes).",
        fix="Replace the broken or missing bricks {where}, close put-log holes with brick and "
        "mortar, solid to the face, and brush off.",
        cautions=(Caution.NO_MORTAR, Caution.SILICA),
        trade=Trade.BRICKLAYER,
        minutes=40,
        working_days=4,
    ),
)

"""What is in no list. It stays last."""

from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.vocabulary import Trade

KINDS = (
    DefectKind(
        slug="other",
        name="Something else",
        look_for="Anything that is not in the list. Say what it is and what must be done.",
        fix="",
        trade=Trade.BUILDER,
        minutes=15,
        working_days=3,
    ),
)

"""Where a rule value comes from: what was published, how that is known, and in which edition.

Only what somebody read is a source. What is common practice or was only remembered is this
business's own setting, and said to be that.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

OWN_WORDS = "this business's own setting"
EDITION = "{edition}"


class SourceKind(StrEnum):
    """How a source is known. Stored with issued reports: none ever changes."""

    SEEN = "seen"
    """Read in the issuer's own text."""
    QUOTED = "quoted"
    """Read in another public text that quotes it."""
    OWN = "own"
    """This business's setting: nothing published asks for it."""
    PUBLISHED = "published"
    """Of reports of earlier versions, which did not tell the first two apart."""


@dataclass(frozen=True)
class Source:
    """A source: document with clause, and edition (a year), empty where it has none.

    The words end with the edition, unless `text` says with "{edition}" where it stands.
    Of the business's own setting `stricter_than` is what is published for the same thing.
    """

    kind: SourceKind
    text: str = ""
    edition: str = ""
    stricter_than: str = ""

    @property
    def words(self) -> str:
        """As people read it: "ABCB Housing Provisions 3.3.3(a), 2022"."""
        if self.kind == SourceKind.OWN:
            stricter = f", stricter than {self.stricter_than}" if self.stricter_than else ""
            return f"{OWN_WORDS}{stricter}"
        if not self.edition or EDITION in self.text:
            return self.text.replace(EDITION, self.edition)
        return f"{self.text}, {self.edition}"

    @property
    def is_own(self) -> bool:
        return self.kind == SourceKind.OWN


def _housing_provisions(clause: str, edition: str, kind: SourceKind) -> Source:
    return Source(kind, f"ABCB Housing Provisions {clause}", edition)


_SEEN, _QUOTED = SourceKind.SEEN, SourceKind.QUOTED

OWN = Source(SourceKind.OWN)

FALL = _housing_provisions("3.3.3(a)", "2022", _SEEN)
SLAB_ON_SAND = _housing_provisions("3.3.3(b)(i)", "2022", _SEEN)
SLAB_AT_PAVING = _housing_provisions("3.3.3(b)(ii)", "2022", _SEEN)
SLAB_ELSEWHERE = _housing_provisions("3.3.3(b)(iii)", "2025", _QUOTED)
JOINTS = _housing_provisions("5.6.4(1)", "2025", _QUOTED)
RAKING = _housing_provisions("5.6.4(3)", "2025", _QUOTED)
ARTICULATION = _housing_provisions("5.6.8", "2025", _QUOTED)
ARTICULATION_WIDTH = _housing_provisions("5.6.8(2)", "2025", _QUOTED)
WEEP_HOLES = _housing_provisions("5.7.5(1)", "2025", _QUOTED)
OVERHANG = _housing_provisions("5.7.2", "2022", _SEEN)
TOLERANCE = Source(_QUOTED, "NZS 4210:{edition} (a New Zealand standard)", "2001")
BRICK_SIZE = Source(_SEEN, "an open university building text")
COURSING = Source(_QUOTED, "a public coursing table")
ATTACHMENTS = Source(_QUOTED, "AS 3660.2:{edition}", "2017")
INSPECTIONS = Source(_QUOTED, "a timber industry guide")
BACKING_ROD = Source(_SEEN, "ASTM D5249, 5.2 (joints in pavement)")
SEALANT = Source(_QUOTED, "CMAA CM01 ({edition}), 10.1", "2019")

IN_FORCE, COMING, COMING_ON = "2022", "2025", date(2027, 5, 1)
"""The edition of the National Construction Code in force, and the one that some states adopt."""

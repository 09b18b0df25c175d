"""What a state or territory adds to the code, as far as a site there has to know of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class LocalRule(StrEnum):
    """What is said. `readiness.wording.local_rules` has the sentences."""

    NT_COVERED_TRENCH = "nt_covered_trench"
    QLD_DESIGN_LIFE = "qld_design_life"


@dataclass(frozen=True)
class LocalNote:
    """A rule with the clause and the edition that it was read in.

    It `warns` where a treatment of the wall's face is not what the clause describes.
    """

    rule: LocalRule
    clause: str
    edition: str
    warns: bool = False


_NOTES: Mapping[str, tuple[LocalNote, ...]] = {
    "NT": (LocalNote(LocalRule.NT_COVERED_TRENCH, "NT 3.4.2(e)", "2022", warns=True),),
    "QLD": (LocalNote(LocalRule.QLD_DESIGN_LIFE, "QLD 3.4.1(4)", "2022"),),
}
"""By state. Where nothing was read, nothing is said."""


def local_notes(state: str) -> tuple[LocalNote, ...]:
    """The notes for sites in a state or territory, by its code."""
    return _NOTES.get(state, ())

"""What does not hold: in words for who runs the check, and as data for programs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class Break:
    """The first thing that does not hold.

    `entry` and `at` are the last word of the Record on it: until then it was as recorded. Of each
    column that differs `columns` has what is recorded and what is there now, where both may be
    read; of texts only that they differ. `is_unreadable` tells a store that does not answer, which
    is no sign of a change.
    """

    words: str
    entry: int | None = None
    at: datetime | None = None
    row: str = ""
    columns: Mapping[str, Any] = field(default_factory=dict)
    is_unreadable: bool = False

    def as_json(self) -> dict:
        return {
            "words": self.words,
            "entry": self.entry,
            "at": self.at.isoformat() if self.at else None,
            "row": self.row,
            "columns": dict(self.columns),
            "unreadable": self.is_unreadable,
        }

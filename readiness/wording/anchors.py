"""What holding an old file against the Record found, for who checks it: one sentence a finding."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum, auto

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later


class What(StrEnum):
    """What carried a checkpoint."""

    PAPER = auto()
    MAIL = auto()
    EXPORT = auto()
    CHECKPOINT = auto()
    OURS = auto()
    FILE = auto()


class Result(StrEnum):
    """What came out."""

    HOLDS = auto()
    UNREADABLE = auto()
    NO_CHECKPOINT = auto()
    BAD_CHECKPOINT = auto()
    BAD_SIGNATURE = auto()
    UNKNOWN_KEY = auto()
    SHORTER = auto()
    CHANGED = auto()
    CHANGED_AFTER = auto()
    HEAD_NOT_PROVEN = auto()
    HEAD_CHANGED = auto()
    NOT_CONSISTENT = auto()


_NAMES: Mapping[str, str] = {
    What.PAPER: later("paper"),
    What.MAIL: later("e-mail"),
    What.EXPORT: later("export"),
    What.CHECKPOINT: later("checkpoint"),
    What.OURS: later("checkpoint in the database"),
    What.FILE: later("file"),
}

_SENTENCES: Mapping[str, str] = {
    Result.HOLDS: later(
        "holds. The fingerprints of the first %(size)s entries are those of %(time)s, in the same "
        "order: none was changed, removed or put in."
    ),
    Result.UNREADABLE: later("can't be read."),
    Result.NO_CHECKPOINT: later("has no checkpoint in it: it proves nothing here."),
    Result.BAD_CHECKPOINT: later("has a checkpoint that is not whole: it was changed or cut off."),
    Result.BAD_SIGNATURE: later(
        "is signed wrongly: the checkpoint of %(time)s was changed, or the key that it names never "
        "signed it."
    ),
    Result.UNKNOWN_KEY: later(
        "is signed with the key %(key)s, which this portal does not know: it is another portal's "
        "or made up, or that key was removed from the database."
    ),
    Result.SHORTER: later(
        "does not hold: it counts %(size)s entries at %(time)s, and only %(there)s are there now. "
        "Entries were removed, or an older back-up was restored."
    ),
    Result.CHANGED: later(
        "does not hold: the first %(size)s entries are not those of %(time)s. At least one was "
        "changed, removed or put in."
    ),
    Result.CHANGED_AFTER: later(
        "does not hold: the first %(size)s entries are not those of %(time)s. At least one was "
        "changed, removed or put in; the first %(after)s still are as another of these files says."
    ),
    Result.HEAD_NOT_PROVEN: later(
        "names an entry of the site's Record, and its proof does not lead to the signed root."
    ),
    Result.HEAD_CHANGED: later(
        "does not hold: entry %(entry)s of the site's Record is not the one that it names."
    ),
    Result.NOT_CONSISTENT: later("does not follow from the checkpoint before it."),
}


def say(name: str, what: What, result: Result, **told: object) -> str:
    """ "report.pdf (paper) holds. ..."; `name` is the file's."""
    words = {
        key: f"{value:,}" if isinstance(value, int) else str(value) for key, value in told.items()
    }
    return f"{name} ({_(_NAMES[what])}) {_(_SENTENCES[result]) % words}"

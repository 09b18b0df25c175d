"""How an entry of the Record reads in a history."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from portal.record_runs import Fold, runs_of
from readiness.models import Paper, RecordEntry
from readiness.models.verbs import verb_words
from readiness.rules.defects.catalogue import TRADES, get_kind
from readiness.rules.words import counted, listed
from readiness.wording import dates

SIDE = {"applicator": "applicator", "builder": "builder"}


@dataclass(frozen=True)
class Line:
    """An entry as a person reads it: when (at the site), who, what, and the details."""

    sequence: int
    at: datetime
    who: str
    side: str
    what: str
    details: str
    digest: str


def lines(
    entries: Iterable[RecordEntry], zone: ZoneInfo, walls: Mapping[str, str] | None = None
) -> list[Line]:
    """Entries (with their actors read) as lines. `walls` gives the labels of walls by their id."""
    return [_line(entry, zone, walls or {}) for entry in entries]


class TimedFold(Fold):
    """A fold that says from when to when its lines are."""

    @property
    def when(self) -> str:
        """ "9:05 am to 9:29 am on Mon 16 November 2026"."""
        first, last = dates.moment(self.oldest.at), dates.moment(self.newest.at)
        start = first.partition(" on ")[0]
        return last if last.startswith(start) else f"{start} to {last}"


def folds(
    entries: Iterable[RecordEntry], zone: ZoneInfo, walls: Mapping[str, str] | None = None
) -> list[TimedFold]:
    """The lines of entries (newest first), runs of like ones folded."""
    return [TimedFold(run.words, lines(run.entries, zone, walls)) for run in runs_of(entries, zone)]


def _line(entry: RecordEntry, zone: ZoneInfo, walls: Mapping[str, str]) -> Line:
    actor = entry.actor
    return Line(
        sequence=entry.sequence,
        at=entry.at.astimezone(zone),
        who=str(actor) if actor else "The portal",
        side=SIDE.get(actor.role, "") if actor else "",
        what=_what(entry),
        details=_details(entry.data, walls),
        digest=entry.digest,
    )


def _what(entry: RecordEntry) -> str:
    """The verb, with the number of the item or report that it is about."""
    words, number = verb_words(entry.verb), entry.data.get("number")
    if entry.verb == "ready_confirmed":
        return f"{words} on report {number}"
    if number is None:
        return words
    for noun in ("an item", "item"):
        if words.endswith(noun):
            return words.removesuffix(noun) + f"item {number}"
    if " an item " in words:
        return words.replace(" an item ", f" item {number} ")
    if "report" in words:
        return words.replace("the report", f"report {number}")
    return f"{words} ({number})"


def _details(data: dict, walls: Mapping[str, str]) -> str:
    """What else the entry says, in words; ids and digests stay out of sight."""
    if data.get("wall") in walls:
        data = {**data, "wall": walls[data["wall"]]}
    parts = (say(data[name]) for name, say in _SAYINGS.items() if data.get(name))
    return "; ".join(part for part in parts if part)


def _day(value) -> str:
    try:
        return dates.day(date.fromisoformat(str(value)))
    except ValueError:
        return ""


def _walls(value) -> str:
    if isinstance(value, list):
        return listed(wall.get("label", "") for wall in value)
    return counted(value, "wall") if isinstance(value, int) else ""


_SAYINGS = {
    "kind": lambda kind: _kind(str(kind)),
    "wall": lambda wall: wall if wall and len(str(wall)) < 36 else "",
    "trade": lambda trade: TRADES.get(trade, ""),
    "day": _day,
    "half": lambda half: half or "",
    "walls": _walls,
    "by": lambda number: f"report {number} took its place" if isinstance(number, int) else "",
    "items": lambda count: counted(count, "item") if isinstance(count, int) else "",
    "fields": lambda names: listed(str(name).replace("_", " ") for name in names or ()),
    "used_ml": lambda used: f"{used / 1000:g} L used" if used else "",
    "batch": lambda batch: f"batch {batch}" if batch else "",
    "decision": lambda decision: {"stands": "it stands", "let_go": "let go"}.get(decision, ""),
    "reason": lambda reason: f"“{reason}”" if reason else "",
    "note": lambda note: f"“{note}”" if note else "",
}


def _kind(kind: str) -> str:
    """Of a paper, or of a defect, which may be one that was taken out of the catalogue since."""
    if kind in Paper.Kind.values:
        return Paper.Kind(kind).label
    return get_kind(kind).name if kind else ""

"""What only a licensed technician decides, as papers print it: live termites, and what nobody can
reach, which is a limit of the treatment.

From the entries of `snapshots.referrals_snapshot`: kept with an issued report, or as things stood
when a treatment was recorded.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from readiness.papers import data, wording
from readiness.papers.pictures import Frame
from readiness.papers.views import PhotoView, Snapshot
from readiness.rules.band.geometry import WallRun
from readiness.rules.site.facts import ReferralFacts, with_bars
from readiness.rules.vocabulary import NoAccess, ReferralKind
from readiness.snapshots import snapshot_referrals
from readiness.wording.paper import referrals as say
from readiness.wording.referrals import cause_words, outcome_words, stretch


@dataclass(frozen=True)
class FindView:
    """One find of live termites: when, where and by whom, and what was decided since."""

    found: str
    note: str
    decisions: tuple[str, ...]
    photos: tuple[PhotoView, ...]
    is_open: bool

    @property
    def photo_rows(self) -> list[tuple[PhotoView, ...]]:
        """The photos, two side by side."""
        return [self.photos[start : start + 2] for start in range(0, len(self.photos), 2)]


@dataclass(frozen=True)
class Limits:
    """What of the walls is not treated as nobody can reach it, and what that means."""

    sentences: tuple[str, ...] = ()
    meaning: str = ""


def finds(snapshot: Snapshot, frame: Frame) -> tuple[FindView, ...]:
    """The finds of live termites that a report keeps, the first one first."""
    entries = snapshot.content["referrals"]
    facts = snapshot_referrals(entries)
    return tuple(
        _find(snapshot, entry, fact, frame)
        for entry, fact in zip(entries, facts, strict=True)
        if fact.kind == ReferralKind.LIVE_TERMITES
    )


def finds_at(entries: Iterable[Mapping], zone: ZoneInfo) -> list[str]:
    """The finds of live termites and what was decided, a line each."""
    found = [entry for entry in entries if entry["kind"] == ReferralKind.LIVE_TERMITES]
    return [" ".join((_found(entry, zone), *_decisions(entry, zone))) for entry in found]


def _find(snapshot: Snapshot, entry: Mapping, fact: ReferralFacts, frame: Frame) -> FindView:
    photos = [
        *entry["photos"],
        *(photo for decision in entry["decisions"] for photo in decision["photos"]),
    ]
    return FindView(
        found=_found(entry, snapshot.zone),
        note=entry["note"],
        decisions=_decisions(entry, snapshot.zone),
        photos=tuple(
            snapshot.photo(photo, number, frame, say.photo_of_find())
            for number, photo in enumerate(photos, 1)
        ),
        is_open=fact.keeps_closed,
    )


def _found(entry: Mapping, zone: ZoneInfo) -> str:
    by = entry["noted_by"]
    where = stretch(entry["wall"], entry["from_mm"], entry["to_mm"]) if entry["wall"] else ""
    found = say.found(wording.when(entry["noted_at"], zone), by["name"] if by else "")
    return wording.with_units(say.at_place(found, where))


def _decisions(entry: Mapping, zone: ZoneInfo) -> tuple[str, ...]:
    return tuple(
        say.decided(outcome_words(one["outcome"]), *_decided(one, zone))
        for one in entry["decisions"]
    )


def _decided(decision: Mapping, zone: ZoneInfo) -> tuple[str, str, str, str]:
    """By whom, with which licence, on what day and why."""
    at = datetime.fromisoformat(decision["decided_at"]).astimezone(zone)
    day = wording.day(at.date())
    return decision["name"], decision["licence_number"], day, decision["reason"]


def limits(entries: Sequence[dict], letters: Mapping[str, str], zone: ZoneInfo) -> Limits:
    """What nobody can reach, wall by wall; `letters` are those of the plan, by a run's id."""
    barred = [
        entry
        for entry, fact in zip(entries, snapshot_referrals(entries), strict=True)
        if fact.bars_wall
    ]
    if not barred:
        return Limits()
    is_boundary = any(entry["cause"] == NoAccess.BOUNDARY for entry in barred)
    return Limits(
        tuple(_limit(entry, letters.get(entry["run"], ""), zone) for entry in barred),
        say.meaning(is_boundary),
    )


def _limit(entry: Mapping, letter: str, zone: ZoneInfo) -> str:
    wall = say.wall(entry["wall"], letter)
    where = stretch(wall, entry["from_mm"], entry["to_mm"])
    why = cause_words(entry["cause"]).lower()
    if not entry["decisions"]:
        return wording.with_units(say.undecided(where, why))
    told = _decided(entry["decisions"][-1], zone)
    return wording.with_units(say.not_treated(where, why, *told))


def walls_at(runs: tuple[WallRun, ...], entries: Iterable[dict]) -> tuple[WallRun, ...]:
    """The runs, with what of them nobody can reach by these entries."""
    return with_bars(runs, snapshot_referrals(entries))


def find_data(find: FindView) -> dict:
    """A find as the site report prints it."""
    return data.told(
        found=find.found,
        note=find.note,
        decisions=find.decisions,
        photos=[data.photo(photo) for photo in find.photos],
    )

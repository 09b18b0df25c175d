"""A site's Record as the builder reads it: everything but the work on unissued drafts."""

from dataclasses import dataclass
from datetime import date, datetime

from portal.record_runs import Fold, runs_of
from readiness.models import Paper, RecordEntry, Site
from readiness.models.verbs import verb_words
from readiness.rules.defects.catalogue import TRADES
from readiness.wording import dates

OF_DRAFTS = (
    "report_started",
    "report_changed",
    "report_dropped",
    "run_checked",
    "run_check_noted",
    "run_unchecked",
    "item_added",
    "item_changed",
    "item_removed",
    "photo_added",
    "photo_attached",
    "photo_marked",
    "photo_measured",
    "levels_changed",
    "walls_copied",
    "message_sent",
    "paper_failed",
)
"""Verbs that the builder's history leaves out: the applicator's own work before a report."""


@dataclass(frozen=True)
class Line:
    """One entry in plain words."""

    at: datetime
    who: str
    words: str
    details: str


def history_of(site: Site):
    """The site's entries that its builder may read, newest first."""
    entries = RecordEntry.objects.filter(site=site).exclude(verb__in=OF_DRAFTS)
    return entries.select_related("actor").order_by("-sequence")


def folds_of(entries, site: Site) -> list[Fold]:
    """The lines of entries (newest first), runs of like ones folded."""
    runs = runs_of(entries, site.zone)
    return [Fold(run.words, [line_of(entry) for entry in run.entries]) for run in runs]


def line_of(entry: RecordEntry) -> Line:
    """An entry as a line of the history."""
    return Line(
        at=entry.at,
        who=_who(entry),
        words=verb_words(entry.verb),
        details=" ".join(_details(entry.verb, entry.data)),
    )


def _who(entry: RecordEntry) -> str:
    if entry.actor_id is None:
        return "The portal"
    return str(entry.actor) if entry.actor else "A person who was removed"


def _details(verb: str, data: dict):
    """What the entry is about, from what it keeps: number, trade, day, reason."""
    if "number" in data:
        about_report = verb.startswith("report_") or verb == "ready_confirmed"
        yield f"{'Report' if about_report else 'Item'} {data['number']}."
    if verb == "paper_made" and data.get("kind") in Paper.Kind.values:
        yield f"{Paper.Kind(data['kind']).label}."
    if data.get("trade") in TRADES:
        yield f"{TRADES[data['trade']]}."
    if data.get("day"):
        half = f" in the {data['half']}" if data.get("half") else ""
        yield f"{dates.long_day(date.fromisoformat(data['day']))}{half}."
    if data.get("preferences"):
        wishes = [
            f"{dates.long_day(date.fromisoformat(wish['date']))} {wish['half']}"
            for wish in data["preferences"]
        ]
        yield f"{', '.join(wishes)}."
    for key in ("reason", "note"):
        if data.get(key):
            yield f"“{data[key]}”"

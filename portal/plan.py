"""The plan of a house's walls on a page: the papers' drawing, sized for a phone, with its links."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from django.utils.safestring import SafeString, mark_safe

from readiness.facts import run_outline
from readiness.models import DefectItem, WallRun
from readiness.papers.drawings.elevation import ItemMark
from readiness.papers.drawings.lean import lean
from readiness.papers.drawings.plan import plan_svg
from readiness.rules.band import geometry
from readiness.rules.band.perimeter import outline
from readiness.rules.site.assessment import Assessment
from readiness.rules.vocabulary import Readiness
from readiness.rules.words import counted, metres
from readiness.wording import states
from readiness.wording.outline import why_open

WIDTH, MOST_HEIGHT = 350, 300
"""About as many units across as a phone's page has pixels, so that words keep their size."""

PLANS_KEPT = 200
"""A process keeps so many at most, of 10 to 30 kB each."""

VISIT_WORDS: Mapping[str, str] = {
    Readiness.READY: "Checked, nothing found",
    Readiness.NOT_READY: "Has items",
    Readiness.NOT_KNOWN: "Not checked",
    Readiness.OUT_OF_REACH: "Nobody can reach it",
}
"""What the lines of the plan say while a report is written."""


@dataclass(frozen=True)
class Plan:
    """A drawn plan; `sentence` is what is wrong with the outline, empty once it closes."""

    svg: SafeString
    sentence: str
    says: str


def plan_of(
    runs: Iterable[WallRun],
    *,
    items: Iterable[DefectItem] = (),
    status: Mapping[str, str] | None = None,
    status_words: Mapping[str, str] | None = None,
    url_of: Callable[[WallRun], str] | None = None,
    title: str = "Plan of the walls",
    listing: bool = True,
) -> Plan | None:
    """The plan of these wall runs (in order), or None without walls.

    `url_of` gives the address behind a wall; `status` says by a run's id how it stands, in
    `status_words`. `listing` names the walls without room for their name under the drawing.
    """
    runs = list(runs)
    if not runs:
        return None
    return _drawn(
        tuple(run_outline(run) for run in runs),
        tuple(ItemMark(i.number, i.from_mm, i.to_mm, str(i.wall_run_id)) for i in items),
        tuple((str(run.pk), url_of(run)) for run in runs) if url_of else None,
        tuple(status.items()) if status else (),
        tuple((states.status_words() if status_words is None else status_words).items()),
        listing,
        title,
    )


@lru_cache(maxsize=PLANS_KEPT)
def _drawn(
    runs: tuple[geometry.WallRun, ...],
    items: tuple[ItemMark, ...],
    links: tuple[tuple[str, str], ...] | None,
    status: tuple[tuple[str, str], ...],
    status_words: tuple[tuple[str, str], ...],
    listing: bool,
    title: str,
) -> Plan:
    """Finding places for names and numbers takes 10 ms, so a plan is kept under all that it shows.

    It is drawn from these facts and nothing else. Here in memory, as fetching it from the shared
    cache takes a query and keeping it there would make a GET write.
    """
    drawn = plan_svg(
        runs,
        items=items,
        links=dict(links) if links is not None else None,
        status=dict(status),
        status_words=dict(status_words),
        width=WIDTH,
        most_height=MOST_HEIGHT,
        listing=None if listing else (),
        title=title,
    )
    return _plan(runs, drawn)


def live_plan_of(runs: Iterable[WallRun]) -> Plan | None:
    """The plan while walls are typed: low, and with the numbers that the rows beside it have."""
    runs = list(runs)
    if not runs:
        return None
    outlines = [run_outline(run) for run in runs]
    drawn = plan_svg(outlines, width=WIDTH, most_height=140, key_of=str, listing=())
    return _plan(outlines, drawn)


def visit_status(
    runs: Iterable[WallRun],
    items: Iterable[DefectItem],
    checked: Iterable,
    barred: Iterable = (),
) -> dict[str, str]:
    """How each wall stands while a report is written: items on it, out of reach, checked, or none
    of these.
    """
    with_items, checked = {item.wall_run_id for item in items}, set(checked)
    barred = set(barred)
    return {
        str(run.pk): Readiness.NOT_READY
        if run.pk in with_items
        else Readiness.OUT_OF_REACH
        if run.pk in barred
        else Readiness.READY
        if run.pk in checked
        else Readiness.NOT_KNOWN
        for run in runs
    }


def status_by_wall(assessment: Assessment) -> dict[str, str]:
    """How each wall stands, by its id."""
    return {run.run_id: run.status for run in assessment.runs}


def _plan(runs: Sequence[geometry.WallRun], drawn: str) -> Plan:
    total = sum(run.length_mm for run in runs)
    return Plan(
        svg=mark_safe(lean(drawn)),  # noqa: S308  (every name in it was escaped by plan_svg)
        sentence=why_open(outline(runs)),
        says=f"Plan of {counted(len(runs), 'wall')}, {metres(total)} round.",
    )

"""What the levels of a site's wall runs say: notes, which never decide readiness alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from readiness.rules.band import believable
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import BareBrick, SoilToClear, WallBand, bands_of
from readiness.rules.band.shortfalls import Shortfall
from readiness.rules.band.verdict import Reason, Why
from readiness.rules.codes import Code
from readiness.rules.values.rule_values import RuleValues

SOIL_KIND = "soil_against_brick"

DECIDED_BY_A_PERSON = frozenset(
    {Why.BRICK_ENDS, Why.OPENING_UNKNOWN, Why.WITHIN_TAPE, Why.NO_GROUND_TODAY}
)
"""Reasons of a verdict that somebody has to decide or measure again."""


@dataclass(frozen=True)
class LineNote:
    """Something that the levels say; `kind` is the defect it would be as an item.

    `run_id` is None for what is said once a site, of the walls in `labels`. `problems` are those
    that can't be believed, `short` where the line breaks a rule, `decide` what a person decides,
    `clear` and `bare` soil and brick beside the band, and `needed_level_mm` the least level of a
    struck joint that is missing, from the top of the wall's own slab, whose level is
    `slab_level_mm`.
    """

    code: Code
    run_id: str | None = None
    distance_mm: int | None = None
    kind: str | None = None
    problems: tuple[believable.Unbelievable, ...] = ()
    short: Shortfall | None = None
    decide: Reason | None = None
    clear: SoilToClear | None = None
    bare: BareBrick | None = None
    needed_level_mm: int | None = None
    slab_level_mm: int = 0
    labels: tuple[str, ...] = ()


@lru_cache(maxsize=1024)
def site_notes(runs: tuple[WallRun, ...], values: RuleValues) -> tuple[LineNote, ...]:
    """What the levels of a site's runs say, wall by wall, then what is said once.

    Nothing is said of a wall that nobody can reach; of a stretch the bands say nothing either.
    Lists of sites ask this again and again for walls that did not change: answers are kept.
    """
    bands = bands_of(runs, values)
    reached = [run for run in runs if run.reachable_mm]
    found = [note for run in reached for note in _run_notes(run, bands[run.id])]
    return (*found, *_bottom_unknown(reached, bands))


def _run_notes(run: WallRun, band: WallBand | None) -> Iterator[LineNote]:
    problems = tuple(believable.problems(run))
    if problems:
        yield LineNote(Code.LEVELS_UNBELIEVABLE, run.id, problems=problems)
    elif band is None:
        yield LineNote(Code.NO_LEVELS, run.id)
    elif not band.segments and run.is_rendered:
        yield LineNote(
            Code.NO_STRUCK_JOINT, run.id, kind="no_struck_joint",
            needed_level_mm=band.needed_level_mm,
        )  # fmt: skip
    else:
        yield from _band_notes(band)


def _band_notes(band: WallBand) -> Iterator[LineNote]:
    run_id = band.run_id
    for reason in band.why:
        if reason.why in DECIDED_BY_A_PERSON or reason.why is Why.NO_STRUCK_JOINT:
            at = reason.details.get("from_mm")
            distance_mm = at if isinstance(at, int) else None
            yield LineNote(
                Code.LEVELS_TO_DECIDE, run_id, distance_mm, decide=reason,
                slab_level_mm=band.run.slab_level_mm,
            )  # fmt: skip
    for short in band.shortfalls:
        yield LineNote(Code.LEVELS_SHORT, run_id, short.worst_at_mm, short.kind, short=short)
    for soil in band.clear:
        yield LineNote(Code.SOIL_TO_CLEAR, run_id, soil.from_mm, SOIL_KIND, clear=soil)
    for bare in band.bare:
        yield LineNote(Code.BARE_BRICK, run_id, bare.from_mm, bare=bare)


def _bottom_unknown(
    runs: Sequence[WallRun], bands: dict[str, WallBand | None]
) -> Iterator[LineNote]:
    """Walls with a band of which nobody saw where the brickwork starts: one note a site."""
    labels = tuple(
        run.label
        for run in runs
        if bands[run.id] is not None and run.brick_bottom_mm is None and not run.is_rendered
    )
    if labels:
        yield LineNote(Code.BRICKWORK_BOTTOM_UNKNOWN, labels=labels)

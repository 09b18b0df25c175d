"""Defect items that the measurements suggest; a person decides which of them to add."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import SoilToClear, WallBand, band_of
from readiness.rules.band.notes import SOIL_KIND
from readiness.rules.band.shortfalls import Shortfall
from readiness.rules.defects.catalogue import KINDS, get_kind
from readiness.rules.defects.site_checks import Check, Finding, site_checks
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.vocabulary import Effect


@dataclass(frozen=True)
class ProposedItem:
    """An item ready to be added, with its millimetres filled in. One of the last is what was found.

    `effect` is empty where it is the kind's usual one.
    `readiness.wording.proposals` says why it is proposed, and what has to be done.
    """

    run_id: str
    kind: str
    trade: str
    from_mm: int | None
    to_mm: int | None
    measured_mm: int | None
    rule_key: str
    source: str
    effect: str = ""
    short: Shortfall | None = None
    clear: SoilToClear | None = None
    finding: Finding | None = None
    needed_level_mm: int = 0

    @property
    def key(self) -> str:
        """Names the proposal within its run, the same each time it is worked out."""
        return f"{self.kind}-{self.from_mm}-{self.to_mm}"


def proposed_items(
    run: WallRun, values: RuleValues, band: WallBand | None = None
) -> list[ProposedItem]:
    """Items for what a run's band asks for and for failed checks.

    `band` is the run's among its neighbours, None to work it out alone. LevelsError if it can't be.
    """
    band = band or band_of(run, values)
    found = []
    if band is not None and not band.segments and run.is_rendered:
        found.append(_no_struck_joint(run, band, values))
    shortfalls = band.shortfalls if band else ()
    found += [_from_shortfall(run, short, values) for short in shortfalls]
    found += [_from_soil(run, soil, values) for soil in (band.clear if band else ())]
    found += [
        _from_finding(run, finding, finding.kind, values)
        for finding in site_checks(run, values)
        if finding.kind and not finding.ok and not _already_said(finding, shortfalls)
    ]
    return [item for item in found if item.kind in KINDS and not _is_barred(item, run)]


def _is_barred(item: ProposedItem, run: WallRun) -> bool:
    """It lies where nobody can reach the wall, and nothing is treated."""
    if item.from_mm is None:
        return not run.reachable_mm
    return run.is_out_of_reach(item.from_mm, item.from_mm if item.to_mm is None else item.to_mm)


def _already_said(finding: Finding, shortfalls: tuple[Shortfall, ...]) -> bool:
    """Low weep holes come down to the same ground as a shortfall that covers the place."""
    at_mm = finding.from_mm
    if finding.code is not Check.WEEP_HEIGHT or at_mm is None:
        return False
    return any(short.from_mm <= at_mm <= short.to_mm for short in shortfalls)


def _no_struck_joint(run: WallRun, band: WallBand, values: RuleValues) -> ProposedItem:
    return _item(
        run, "no_struck_joint", values, 0, run.length_mm, None, "line_above_ground_mm",
        needed_level_mm=band.needed_level_mm,
    )  # fmt: skip


def _from_shortfall(run: WallRun, short: Shortfall, values: RuleValues) -> ProposedItem:
    """The clear height at the worst place is the measurement; it can't be less than 0."""
    return _item(
        run, short.kind, values, short.from_mm, short.to_mm, max(0, short.found_mm),
        short.rule_key, short=short, trade=short.trade,
    )  # fmt: skip


def _from_soil(run: WallRun, soil: SoilToClear, values: RuleValues) -> ProposedItem:
    """Soil over the band: the builder's, unless the business clears it itself."""
    effect = Effect.ON_THE_DAY if values["soil_by_applicator"] else ""
    return _item(
        run, SOIL_KIND, values, soil.from_mm, soil.to_mm, soil.deepest_mm, "soil_on_brick_max_mm",
        clear=soil, effect=effect,
    )  # fmt: skip


def _from_finding(run: WallRun, finding: Finding, kind: str, values: RuleValues) -> ProposedItem:
    return _item(
        run, kind, values, finding.from_mm, finding.to_mm, finding.measured_mm, finding.rule_key,
        finding=finding,
    )  # fmt: skip


def _item(
    run: WallRun,
    slug: str,
    values: RuleValues,
    from_mm: int | None,
    to_mm: int | None,
    measured_mm: int | None,
    rule_key: str,
    trade: str | None = None,
    **found: Any,
) -> ProposedItem:
    return ProposedItem(
        run_id=run.id,
        kind=slug,
        trade=trade or get_kind(slug).trade,
        from_mm=from_mm,
        to_mm=to_mm,
        measured_mm=measured_mm,
        rule_key=rule_key,
        source=values.source_words(rule_key),
        **found,
    )

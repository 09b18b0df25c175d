"""From measured levels to defect items in the draft report."""

import uuid
from collections.abc import Collection
from typing import Any

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.actions.reporting import drafts
from readiness.facts import rule_values, run_facts, walls_of
from readiness.models import DefectItem, Site, SiteReport, User, WallRun
from readiness.rules.band import believable
from readiness.rules.band.levels import bands_of
from readiness.rules.defects.proposals import ProposedItem, proposed_items
from readiness.wording.proposals import required_fix, why
from readiness.wording.refusals import reporting as refusals

ALL = "all"


def item_id_of(report: SiteReport, proposal: ProposedItem) -> uuid.UUID:
    """The id that an item from this proposal has: adding it twice is one item."""
    return uuid.uuid5(report.pk, f"{proposal.run_id} {proposal.key}")


@transaction.atomic
def add_proposed_items(actor: User, run: WallRun, keys: Collection[str]) -> list[DefectItem]:
    """Add what a run's stored levels propose to the site's draft, which is started if need be.

    `keys` name the proposals (or hold `ALL`). Refused if the levels no longer propose one of them.
    """
    require_applicator(actor)
    site = run.site
    wanted = [
        proposal
        for proposal in _proposed(site).get(str(run.pk), ())
        if ALL in keys or proposal.key in keys
    ]
    if not wanted:
        raise Refused(refusals.levels_changed())
    today = clock.now().astimezone(site.zone).date()
    report = drafts.start_report(actor, site, visited_on=today)
    return [_add(actor, report, run, proposal) for proposal in wanted]


@transaction.atomic
def add_all_proposed(actor: User, site: Site) -> list[DefectItem]:
    """Add what the levels of all walls of a site propose and the draft has not got yet.

    Refused if there is nothing to add.
    """
    require_applicator(actor)
    proposed = _proposed(site)
    found = [
        (run, proposal)
        for run in site.wall_runs.filter(removed_at=None).order_by("position")
        for proposal in proposed.get(str(run.pk), ())
    ]
    draft = site.reports.drafts().first()
    known = set(draft.items.values_list("pk", flat=True)) if draft else set()
    new = [pair for pair in found if draft is None or item_id_of(draft, pair[1]) not in known]
    if not new:
        raise Refused(refusals.levels_changed())
    today = clock.now().astimezone(site.zone).date()
    report = drafts.start_report(actor, site, visited_on=today)
    return [_add(actor, report, run, proposal) for run, proposal in new]


def _proposed(site: Site) -> dict[str, list[ProposedItem]]:
    """What the stored levels of each wall propose, by the wall's id.

    Nothing where they can't be believed: the page says why.
    """
    walls, values = walls_of(site, run_facts), rule_values()
    bands = bands_of(walls, values)
    return {
        wall.id: proposed_items(wall, values, bands[wall.id])
        for wall in walls
        if not believable.problems(wall)
    }


def _add(actor: User, report: SiteReport, run: WallRun, proposal: ProposedItem) -> DefectItem:
    values = rule_values()
    own: dict[str, Any] = {"effect": proposal.effect} if proposal.effect else {}
    return drafts.add_item(
        actor,
        report,
        kind=proposal.kind,
        wall_run=run,
        item_id=item_id_of(report, proposal),
        from_mm=proposal.from_mm,
        to_mm=proposal.to_mm,
        measured_value=proposal.measured_mm,
        measured_from=DefectItem.MeasuredFrom.TAPE if proposal.measured_mm is not None else "",
        required_fix=required_fix(proposal, values),
        trade=proposal.trade,
        note=why(proposal),
        **own,
    )

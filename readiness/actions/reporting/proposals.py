"""From measured levels to defect items in the draft report."""

import uuid
from collections.abc import Collection

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.actions.reporting import drafts
from readiness.facts import rule_values, run_facts
from readiness.models import DefectItem, SiteReport, User, WallRun
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
    wanted = [
        proposal
        for proposal in proposed_items(run_facts(run), rule_values())
        if ALL in keys or proposal.key in keys
    ]
    if not wanted:
        raise Refused(refusals.levels_changed())
    site = run.site
    today = clock.now().astimezone(site.zone).date()
    report = drafts.start_report(actor, site, visited_on=today)
    return [_add(actor, report, run, proposal) for proposal in wanted]


def _add(actor: User, report: SiteReport, run: WallRun, proposal: ProposedItem) -> DefectItem:
    values = rule_values()
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
        note=why(proposal),
    )

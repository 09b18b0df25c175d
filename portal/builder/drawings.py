"""The plan of a site's walls, as the builder's page shows it."""

from portal.applicator.plan import Plan, plan_of
from readiness.facts import SiteState
from readiness.rules.catalogue import ACCEPTED, HOLDS


def site_plan(state: SiteState) -> Plan | None:
    """The walls with what still holds the booking; each leads to its items on the site's page."""
    holding = [item for item in state.items if item.effect == HOLDS and item.state != ACCEPTED]
    return plan_of(
        state.runs,
        items=holding,
        checked={check.wall_run_id for check in state.checks},
        url_of=lambda run: f"?by=wall#wall-{run.pk}",
    )

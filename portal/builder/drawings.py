"""The plan of a site's walls, as the builder's page shows it."""

from portal.plan import Plan, plan_of, status_by_wall
from readiness.facts import SiteState
from readiness.rules.assessment import NOT_KNOWN, NOT_READY, READY
from readiness.rules.catalogue import ACCEPTED, HOLDS

WORDS = {READY: "Nothing to fix", NOT_READY: "Not ready", NOT_KNOWN: "Not looked at"}
"""The same words as in the list of walls under the plan."""


def site_plan(state: SiteState) -> Plan | None:
    """The walls with what still holds the booking; each leads to its items on the site's page."""
    holding = [item for item in state.items if item.effect == HOLDS and item.state != ACCEPTED]
    return plan_of(
        state.runs,
        items=holding,
        status=status_by_wall(state.assessment) if state.report else None,
        status_words=WORDS,
        url_of=lambda run: f"?by=wall#wall-{run.pk}",
        listing=not state.report,
    )

"""The plan of a site's walls, as the builder's page shows it."""

from collections.abc import Mapping

from portal.plan import Plan, plan_of, status_by_wall
from readiness.facts import SiteState
from readiness.rules.site.assessment import RunAssessment
from readiness.rules.vocabulary import Readiness
from readiness.wording.states import wall_words

WORDS: Mapping[str, str] = {
    Readiness.READY: "Nothing to fix",
    Readiness.NOT_READY: "Not ready",
    Readiness.NOT_KNOWN: "Not inspected yet",
    Readiness.OUT_OF_REACH: "Nobody can reach it",
}
"""The same words as in the list of walls under the plan."""


def looked_at(state: SiteState) -> list[tuple[RunAssessment, str]]:
    """Each wall with the plan's word for its state."""
    words = wall_words(state.facts(), WORDS)
    return [(wall, words[wall.status]) for wall in state.assessment.runs]


def site_plan(state: SiteState) -> Plan | None:
    """The walls with what must still be fixed; each leads to its items on the site's page."""
    holding = [item for item in state.items if item.holds]
    return plan_of(
        state.runs,
        items=holding,
        status=status_by_wall(state.assessment) if state.report else None,
        status_words=wall_words(state.facts(), WORDS),
        url_of=lambda run: f"?by=wall#wall-{run.pk}",
        listing=not state.report,
    )

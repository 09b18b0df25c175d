"""A site as the office's pages show it: how it stands, its draft report, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from portal.steps import leads_to
from readiness.facts import SiteState
from readiness.models import Site, SiteReport
from readiness.wording import office
from readiness.wording.saying import Saying


class SiteOverview:
    """A site as it stands, with its draft report."""

    def __init__(self, state: SiteState):
        self.state = state
        self.site = state.site
        self.draft: SiteReport | None = None
        self._saying: Saying | None = None

    @classmethod
    def of(cls, site: Site) -> SiteOverview:
        """The overview of one site."""
        return cls._of_states([SiteState.of(site)])[0]

    @classmethod
    def for_sites(cls, sites: Iterable[Site]) -> list[SiteOverview]:
        """The overviews of a page of sites, in a constant number of queries."""
        return cls._of_states(SiteState.for_list(sites))

    @classmethod
    def _of_states(cls, states: Iterable[SiteState]) -> list[SiteOverview]:
        found = {state.site.pk: cls(state) for state in states}
        for draft in SiteReport.objects.drafts().filter(site__in=found):
            found[draft.site_id].draft = draft
        return list(found.values())

    @property
    def today(self) -> date:
        """The date at the site."""
        return self.state.facts().today

    @property
    def last_visit(self):
        """The latest visit that took place."""
        return self.state.last_visit

    @property
    def is_treated(self) -> bool:
        return self.state.facts().is_treated

    @property
    def is_over(self) -> bool:
        """Treated or archived: what would be in the way of a treatment matters no more."""
        return self.site.closed_at is not None or self.is_treated

    @property
    def saying(self) -> Saying:
        """The sentence and the next step; worked out once."""
        if self._saying is None:
            self._saying = office.say(
                office.Desk(
                    self.state.facts(),
                    self.state.assessment,
                    draft=str(self.draft.pk) if self.draft else "",
                    closed=self.site.closed_at is not None,
                )
            )
        return self._saying

    @property
    def step_url(self) -> str:
        """Where the next step leads; "" where there is none."""
        return leads_to(self.saying.step, self.site) if self.saying.step else ""

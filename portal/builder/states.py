"""Sites with their sentence: what a list or a page of a site starts from."""

from collections.abc import Iterable
from dataclasses import dataclass

from portal.builder.sentences import LastVisit, Saying, say, visit_stands
from readiness.facts import SiteState
from readiness.models import Booking, Site


@dataclass(frozen=True)
class SiteRow:
    """A site, how it stands, and what its builder reads about it."""

    site: Site
    state: SiteState
    saying: Saying
    last_visit: LastVisit | None = None

    @property
    def visit_stands(self) -> bool:
        """The sentence is about how the last visit ended: nothing newer has taken its place."""
        if self.last_visit is None or self.state.booking:
            return False
        return visit_stands(self.last_visit, self.state.facts())

    @property
    def is_treated(self) -> bool:
        return self.visit_stands and self.last_visit.state == "treated"


def rows_for(sites: Iterable[Site]) -> list[SiteRow]:
    """The rows of a page of sites, in a constant number of queries."""
    return _rows(SiteState.for_list(sites))


def row_of(site: Site) -> SiteRow:
    """One site; no page of a builder shows notes on levels."""
    return _rows([SiteState.of(site, with_levels=False)])[0]


def _rows(states: list[SiteState]) -> list[SiteRow]:
    visits = {}
    for booking in Booking.objects.ended().filter(site__in=[state.site.pk for state in states]):
        visits.setdefault(booking.site_id, booking)
    return [_row(state, visits.get(state.site.pk)) for state in states]


def _row(state: SiteState, visit: Booking | None) -> SiteRow:
    last = None
    if visit:
        last = LastVisit(visit.state, visit.day, visit.closed_at, visit.closing_note)
    closed = state.site.closed_at is not None
    saying = say(state.facts(), state.assessment, last, closed)
    return SiteRow(state.site, state, saying, last)

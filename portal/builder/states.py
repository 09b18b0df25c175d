"""Sites with their sentence: what a list or a page of a site starts from."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from readiness.facts import SiteState
from readiness.models import Site
from readiness.wording.builder.sentence import say
from readiness.wording.saying import Saying, Turn


@dataclass(frozen=True)
class SiteRow:
    """A site, how it stands, and what its builder reads about it."""

    site: Site
    state: SiteState
    saying: Saying

    def to_read(self) -> "SiteRow":
        """The same for somebody who only reads for this site's builder."""
        return replace(self, saying=self.saying.to_read())

    @property
    def is_builders_turn(self) -> bool:
        """The builder can do something; else they can only wait."""
        return self.saying.turn is Turn.BUILDERS

    @property
    def visit_stands(self) -> bool:
        """Nothing newer has taken the place of how the last visit ended."""
        return self.is_treated or (self.state.booking is None and self.is_turned_away)

    @property
    def is_treated(self) -> bool:
        return self.state.facts().is_treated

    @property
    def is_turned_away(self) -> bool:
        """We came in vain, and readiness was not confirmed since."""
        return self.state.facts().turned_away is not None


def rows_for(sites: Iterable[Site]) -> list[SiteRow]:
    """The rows of a page of sites, in a constant number of queries."""
    return [_row(state) for state in SiteState.for_list(sites)]


def row_of(site: Site) -> SiteRow:
    """One site; no page of a builder shows notes on levels."""
    return _row(SiteState.of(site, with_levels=False))


def _row(state: SiteState) -> SiteRow:
    closed = state.site.closed_at is not None
    return SiteRow(state.site, state, say(state.facts(), state.assessment, closed))

"""A site's papers in the order that people look for them: by report, each with its editions."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from readiness.models import Paper, Site, SiteReport
from readiness.models.errand import Errand

ORDER = {kind: place for place, kind in enumerate(Paper.Kind.values)}


@dataclass
class PaperRow:
    """One paper: its latest edition, and the earlier ones that are kept."""

    paper: Paper
    earlier: list[Paper] = field(default_factory=list)

    @property
    def waits(self) -> bool:
        return self.paper.is_waiting

    @property
    def can_be_made_again(self) -> bool:
        return self.paper.state == Paper.State.MADE


@dataclass
class PaperGroup:
    """The papers of one report, or those of the site itself (`report` None)."""

    report: SiteReport | None
    rows: list[PaperRow] = field(default_factory=list)

    @property
    def lacks_rule_values(self) -> bool:
        """Whether nobody has asked for the annex of this report yet."""
        asked = {row.paper.kind for row in self.rows}
        return self.report is not None and Paper.Kind.RULE_VALUES not in asked


def refresh_pause(waiting: Iterable[Errand]) -> str:
    """How often a page looks again: soon while things are done, seldom while all wait for a try."""
    return "60s" if all(thing.can_be_retried for thing in waiting) else "2s"


def papers_of(user, site: Site) -> list[Paper]:
    """All papers of the site that the user may see, in one query."""
    papers = (
        Paper.objects.visible_to(user)
        .filter(site=site)
        .select_related("report", "confirmation__report", "booking__confirmation__report")
        .defer(
            "report__snapshot",
            "confirmation__report__snapshot",
            "booking__confirmation__report__snapshot",
        )
    )
    for paper in papers:
        paper.site = site
    return list(papers)


def grouped(papers: Iterable[Paper]) -> list[PaperGroup]:
    """Papers by report, the newest report first; the site's own papers come last."""
    rows: dict[tuple, PaperRow] = {}
    groups: dict[object, PaperGroup] = {}
    for paper in sorted(papers, key=lambda paper: -paper.edition):
        which = tuple(paper.one_paper.values())
        if which in rows:
            rows[which].earlier.append(paper)
            continue
        rows[which] = PaperRow(paper)
        report = _report_of(paper)
        group = groups.setdefault(report.pk if report else None, PaperGroup(report))
        group.rows.append(rows[which])
    for group in groups.values():
        group.rows.sort(key=lambda row: (ORDER[row.paper.kind], row.paper.get_trade_display()))
    return sorted(
        groups.values(), key=lambda group: -group.report.number if group.report else 1_000_000
    )


def _report_of(paper: Paper) -> SiteReport | None:
    if paper.report_id:
        return paper.report
    if paper.booking_id and paper.booking.confirmation_id:
        return paper.booking.confirmation.report
    return None

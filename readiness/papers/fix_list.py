"""The fix list of one trade: big photos, where exactly, what to do, by when."""

from collections.abc import Iterable

from readiness.models import Paper
from readiness.papers import figures, qr, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import ItemView, Snapshot, TradeView
from readiness.rules.catalogue import HOLDS, TRADES
from readiness.rules.geometry import WallRun
from readiness.rules.words import counted

FIRST_PHOTO = Frame(104, 70)
MORE_PHOTOS = Frame(84, 84)


def draft(paper: Paper) -> Draft:
    """The fix list of the paper's trade on its issued report."""
    snapshot = Snapshot(paper.report.snapshot, paper.report.digest)
    link = paper.trade_link.url if paper.trade_link else ""
    until = paper.trade_link.expires_at if paper.trade_link else None
    return build(
        snapshot,
        paper.trade,
        link=link,
        link_until=until,
        edition=paper.edition,
        edition_reason=paper.edition_reason,
    )


def build(
    snapshot: Snapshot,
    trade: str,
    *,
    link: str = "",
    link_until=None,
    edition: int = 1,
    edition_reason: str = "",
) -> Draft:
    words = TRADES[trade]
    items = snapshot.items(FIRST_PHOTO, HOLDS, trade, more=MORE_PHOTOS)
    view = TradeView(trade, words, items)
    due = sorted(item.due_on for item in items if item.due_on)
    name = f"Fix list: {words}"
    runs = {item.run_id for item in items}
    context = {
        **head(snapshot, name, edition, edition_reason),
        "trade": words,
        "items": items,
        "count": counted(len(items), "thing to fix", "things to fix"),
        "where": view.where,
        "first_due": wording.day(due[0]) if due else "",
        "last_due": wording.day(due[-1]) if due and due[-1] != due[0] else "",
        "plan": figures.plan(snapshot, items, most_height=220),
        "drawn": [
            (run.label, figures.elevation(run, snapshot.facts.values, _on(items, run)))
            for run in snapshot.facts.runs
            if run.id in runs and _can_be_drawn(snapshot, run)
        ],
        "link": link,
        "link_until": wording.day(link_until.astimezone(snapshot.zone).date())
        if link_until
        else "",
        "code": qr.svg(link) if link else "",
    }
    return report_draft(
        "fix_list",
        snapshot,
        name,
        context,
        description=f"What the {words.lower()} has to fix, where and by when",
        edition=edition,
        trade=trade,
    )


def _on(items: Iterable[ItemView], run: WallRun) -> list[ItemView]:
    return [item for item in items if item.run_id == run.id]


def _can_be_drawn(snapshot: Snapshot, run: WallRun) -> bool:
    """Enough was measured, and it can be believed."""
    codes = {note.code for note in snapshot.assessment.run(run.id).notes}
    return run.has_levels and "levels_unbelievable" not in codes

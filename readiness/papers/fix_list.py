"""The fix list of one trade: big photos, where exactly, what to do, by when."""

from readiness.models import Paper
from readiness.papers import data, figures, qr, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.site_report import head
from readiness.papers.views import Snapshot, TradeView
from readiness.rules.catalogue import HOLDS, TRADES
from readiness.rules.words import counted

ONE_PHOTO = Frame(116, 87)
MORE_PHOTOS = Frame(84, 63)


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
    items = tuple(_with_best_photos(snapshot, trade))
    view = TradeView(trade, words, items)
    due = sorted(item.due_on for item in items if item.due_on)
    name = f"Fix list: {words}"
    content = snapshot.content
    runs = {item.run_id for item in items}
    context = {
        **head(snapshot, name, edition, edition_reason),
        "trade": words,
        "items": items,
        "count": counted(len(items), "thing to fix", "things to fix"),
        "where": view.where,
        "first_due": wording.day(due[0]) if due else "",
        "last_due": wording.day(due[-1]) if due and due[-1] != due[0] else "",
        "plan": figures.plan(snapshot),
        "drawn": [
            (run.label, figures.elevation(run, snapshot, [i for i in items if i.run_id == run.id]))
            for run in snapshot.facts.runs
            if run.id in runs and run.has_levels
        ],
        "link": link,
        "link_until": wording.day(link_until.astimezone(snapshot.zone).date())
        if link_until
        else "",
        "code": qr.svg(link) if link else "",
    }
    return Draft(
        template="papers/fix_list.html",
        title=f"{name}, {snapshot.address}",
        dated=wording.moment(content["issued_at"]),
        context=context,
        data=data.of_report("fix_list", snapshot, edition=edition, trade=trade),
        author=content["business"]["name"],
        description=f"What the {words.lower()} has to fix, where and by when",
        paper_size=content["business"]["paper_size"],
        album=snapshot.album,
    )


def _with_best_photos(snapshot: Snapshot, trade: str):
    """One photo goes large; several go side by side."""
    large = snapshot.items(ONE_PHOTO, HOLDS, trade)
    small = snapshot.items(MORE_PHOTOS, HOLDS, trade)
    for one, more in zip(large, small, strict=True):
        yield one if len(one.photos) == 1 else more

"""The fix list of one trade: big photos, where exactly, what to do, by when."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from readiness.models import Paper
from readiness.papers import data, figures, qr, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import about_termites, head
from readiness.papers.views import ItemView, Snapshot, TradeView
from readiness.rules.band.geometry import WallRun
from readiness.rules.codes import Code
from readiness.rules.defects.catalogue import TRADES
from readiness.rules.vocabulary import Effect
from readiness.wording.paper import fixes as say
from readiness.wording.paper import parts

# A shorter sheet has room for one item with its wall's drawing too, if its photo is smaller.
FIRST_PHOTO = {"A4": Frame(104, 64), "letter": Frame(104, 46)}
MOST_PLAN_HEIGHT = {"A4": 160, "letter": 145}
WALL_HEIGHT = {"A4": 58, "letter": 46}
MORE_PHOTOS = Frame(84, 84)


def draft(paper: Paper) -> Draft:
    """The fix list of the paper's trade on its issued report."""
    link = paper.trade_link.url if paper.trade_link else ""
    until = paper.trade_link.expires_at if paper.trade_link else None
    return build(Snapshot.of(paper.report, paper), paper.trade, link=link, link_until=until)


def build(snapshot: Snapshot, trade: str, *, link: str = "", link_until=None) -> Draft:
    words = TRADES[trade]
    size = snapshot.content["business"]["paper_size"]
    photo = FIRST_PHOTO[size]
    held = snapshot.items(photo, Effect.HOLDS, trade, more=MORE_PHOTOS)
    # The trade needs to know what a code asks for; that other limits are ours says the site report.
    items = tuple(replace(item, found=item.found_by_code) for item in held)
    view = TradeView(trade, words, items)
    due = sorted(item.due_on for item in items if item.due_on)
    name = say.name(words)
    runs = {item.run_id for item in items}
    context = {
        **head(snapshot, name),
        **about_termites(snapshot),
        "trade": words,
        "items": list(_with_drawings(snapshot, items, WALL_HEIGHT[size])),
        "undrawn": not all(_can_be_drawn(snapshot, snapshot.walls.get(run)) for run in runs),
        "without_digests": True,
        "count": parts.things_to_fix(len(items)),
        "where": view.where,
        "first_due": wording.day(due[0]) if due else "",
        "last_due": wording.day(due[-1]) if due and due[-1] != due[0] else "",
        "plan": figures.plan(snapshot, items, listing=runs, most_height=MOST_PLAN_HEIGHT[size]),
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
        description=say.description(words),
        to_call=context["technician"],
        trade=words,
        items=[_item_data(item) for item in items],
        walls=[
            {"letter": snapshot.run_letters[run.id], "label": run.label}
            for run in snapshot.facts.runs
            if run.id in runs
        ],
    )


def _item_data(item: ItemView) -> dict:
    """An item as this list prints it: the trade stands in its heading, no past, no digest."""
    photos = [data.photo(view, digest=False) for view in item.photos]
    told = data.whole_item(item) | data.told(due_on=item.due_on, photos=photos)
    return {key: part for key, part in told.items() if key != "carried_from"}


def _with_drawings(
    snapshot: Snapshot, items: Sequence[ItemView], height: float
) -> Iterator[tuple[ItemView, str]]:
    """Each item; the last of a wall with the drawing that shows where all of that wall's are."""
    last = {item.run_id: item for item in items}
    for item in items:
        run = snapshot.walls.get(item.run_id)
        if run is None or item is not last[item.run_id] or not _can_be_drawn(snapshot, run):
            yield item, ""
            continue
        on_the_wall = [other for other in items if other.run_id == run.id]
        yield item, _drawing(snapshot, run, on_the_wall, height)


def _drawing(snapshot: Snapshot, run: WallRun, items: list[ItemView], height: float) -> str:
    """A wall for one trade, which looks for its items on it and needs no corners."""
    facts = snapshot.facts
    return figures.elevation(
        run, facts.values, items, runs=facts.walls, corners=False, height=height
    )  # fmt: skip


def _can_be_drawn(snapshot: Snapshot, run: WallRun | None) -> bool:
    """Enough was measured where somebody can reach it, and it can be believed."""
    if run is None or not run.reachable_mm:
        return False
    codes = {note.code for note in snapshot.assessment.run(run.id).notes}
    return run.has_levels and Code.LEVELS_UNBELIEVABLE not in codes

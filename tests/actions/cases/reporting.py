"""Writing a report and issuing it."""

from datetime import date, timedelta

from readiness import clock
from readiness.actions.reporting import drafts, issuing
from readiness.snapshots import snapshot_digest
from tests.actions.cases.base import CHECKPOINT, MONDAY, NOW, PAPER, Case, as_found, case, of
from tests.factories import (
    make_draft,
    make_item,
)


@case(drafts.start_report, "report_started")
def _(cast):
    return Case(
        lambda: drafts.start_report(cast.applicator, cast.site, visited_on=MONDAY),
        cast.applicator,
        lambda report: [{"report": str(report.pk)}],
    )


@case(drafts.change_report, "report_changed")
def _(cast):
    draft = cast.draft()
    return Case(
        lambda: drafts.change_report(
            cast.applicator, draft, weather="Dry", visited_on=draft.visited_on
        ),
        cast.applicator,
        lambda _report: [{"report": str(draft.pk), "fields": ["weather"]}],
    )


@case(drafts.renew_due_dates, "item_changed")
def _(cast):
    with clock.at(NOW - timedelta(days=30)):
        wanted = date(2026, 11, 2)
        draft = make_draft(
            cast.applicator, cast.site, treatment_wanted_on=wanted, visited_on=date(2026, 10, 20)
        )
        item = make_item(cast.applicator, draft)
    return Case(
        lambda: drafts.renew_due_dates(cast.applicator, draft),
        cast.applicator,
        lambda _items: [as_found(item)],
    )


@case(drafts.drop_report, "report_dropped")
def _(cast):
    draft = cast.draft()
    data = {"report": str(draft.pk)}
    return Case(
        lambda: drafts.drop_report(cast.applicator, draft),
        cast.applicator,
        lambda _none: [data],
    )


@case(drafts.check_run, "run_checked", "photo_attached")
def _(cast):
    draft, wall, photo = cast.draft(), cast.wall(), cast.photo()
    data = {"report": str(draft.pk), "wall": str(wall.pk), "note": "Clean"}
    return Case(
        lambda: drafts.check_run(cast.applicator, draft, wall, note="Clean", photos=[photo]),
        cast.applicator,
        lambda check: [
            data,
            {**of(photo), "run_check": str(check.pk)},
        ],
    )


@case(drafts.check_run, "run_check_noted")
def _(cast):
    draft, wall = cast.draft(), cast.wall()
    drafts.check_run(cast.applicator, draft, wall)
    data = {"report": str(draft.pk), "wall": str(wall.pk), "note": "Damp"}
    return Case(
        lambda: drafts.check_run(cast.applicator, draft, wall, note="Damp"),
        cast.applicator,
        lambda _check: [data],
    )


@case(drafts.uncheck_run, "run_unchecked")
def _(cast):
    draft, wall = cast.draft(), cast.wall()
    drafts.check_run(cast.applicator, draft, wall)
    data = {"report": str(draft.pk), "wall": str(wall.pk)}
    return Case(
        lambda: drafts.uncheck_run(cast.applicator, draft, wall),
        cast.applicator,
        lambda _none: [data],
    )


@case(drafts.add_item, "photo_attached", "item_added")
def _(cast):
    draft, wall, photo = cast.draft(), cast.wall(), cast.photo()
    return Case(
        lambda: drafts.add_item(
            cast.applicator, draft, kind="mortar_drop", wall_run=wall, from_mm=900, photos=[photo]
        ),
        cast.applicator,
        lambda item: [
            {**of(photo), "item": str(item.pk)},
            as_found(item),
        ],
    )


@case(drafts.change_item, "photo_attached", "item_changed")
def _(cast):
    item = make_item(cast.applicator, cast.draft())
    photo = cast.photo()
    return Case(
        lambda: drafts.change_item(cast.applicator, item, effect="record", photos=[photo]),
        cast.applicator,
        lambda _item: [
            {**of(photo), "item": str(item.pk)},
            as_found(item, effect="record"),
        ],
    )


@case(drafts.remove_item, "item_removed")
def _(cast):
    item = make_item(cast.applicator, cast.draft())
    return Case(
        lambda: drafts.remove_item(cast.applicator, item),
        cast.applicator,
        lambda _none: [{"item": str(item.pk), "number": 1}],
    )


def issuable(cast):
    """A draft with nothing missing: every wall checked, one thing found."""
    draft = cast.draft()
    for run in cast.site.wall_runs.all():
        drafts.check_run(cast.applicator, draft, run)
    make_item(cast.applicator, draft)
    return draft


def issued_entry(report) -> dict:
    digest = snapshot_digest(report.snapshot)
    return {
        "report": str(report.pk),
        "number": report.number,
        "sha256": digest,
        "items": 1,
    }


def list_shared(report) -> dict:
    link = report.site.trade_links.get(papers__report=report)
    return {"link": str(link.pk), "trade": "bricklayer"}


@case(issuing.issue_report, "report_issued", "list_shared")
def _(cast):
    draft, told = issuable(cast), [cast.contact.memberships.get()]
    return Case(
        lambda: issuing.issue_report(cast.applicator, draft, notify=told),
        cast.applicator,
        lambda report: [issued_entry(report), list_shared(report)],
        [CHECKPOINT, *[PAPER] * 3],  # its e-mail waits for them
    )


@case(issuing.issue_report, "report_superseded", "report_issued", "list_shared")
def _(cast):
    earlier = cast.issued(kinds=())
    draft = issuable(cast)
    return Case(
        lambda: issuing.issue_report(cast.applicator, draft),
        cast.applicator,
        lambda report: [
            {"report": str(earlier.pk), "by": 2},
            issued_entry(report),
            list_shared(report),
        ],
        [CHECKPOINT, *[PAPER] * 3],
    )

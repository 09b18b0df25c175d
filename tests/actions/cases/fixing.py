"""What happens to an item once its report is issued."""

from readiness.actions.fixing import fixes
from tests.actions.cases.base import MAIL, Case, about, case


@case(fixes.report_fixed, "said_fixed")
def _(cast):
    item, photo = cast.item(), cast.photo()
    return Case(
        lambda: fixes.report_fixed(cast.contact, item, photos=[photo], note="Gone"),
        cast.contact,
        lambda fix: [
            {
                **about(item),
                "fix": str(fix.pk),
                "photos": [photo.original_id],
                "note": "Gone",
            }
        ],
        [MAIL],
    )


@case(fixes.take_back_fix, "fix_taken_back")
def _(cast):
    item, fix = cast.fixed()
    return Case(
        lambda: fixes.take_back_fix(cast.contact, fix),
        cast.contact,
        lambda _fix: [{**about(item), "fix": str(fix.pk)}],
    )


def accepted(item, fix, *, note: str = "", on_site: bool = False) -> dict:
    said = str(fix.pk) if fix else None
    return {**about(item), "fix": said, "note": note, "on_site": on_site}


@case(fixes.accept_fix, "fix_accepted")
def _(cast):
    item, fix = cast.fixed()
    return Case(
        lambda: fixes.accept_fix(cast.applicator, item, note="Good"),
        cast.applicator,
        lambda _item: [accepted(item, fix, note="Good")],
        [MAIL],
    )


@case(fixes.accept_on_site, "fix_accepted")
def _(cast):
    item = cast.item()
    return Case(
        lambda: fixes.accept_on_site(cast.applicator, item, note="Seen"),
        cast.applicator,
        lambda _item: [accepted(item, None, note="Seen", on_site=True)],
        [MAIL],
    )


@case(fixes.accept_fixes, "fix_accepted")
def _(cast):
    item, fix = cast.fixed()
    return Case(
        lambda: fixes.accept_fixes(cast.applicator, [item]),
        cast.applicator,
        lambda _items: [accepted(item, fix)],
        [MAIL],
    )


@case(fixes.send_back, "sent_back")
def _(cast):
    item, fix = cast.fixed()
    data = {**about(item), "fix": str(fix.pk), "reason": "Still there"}
    return Case(
        lambda: fixes.send_back(cast.applicator, item, reason="Still there"),
        cast.applicator,
        lambda _item: [data],
        [MAIL],
    )


@case(fixes.disagree, "disagreed")
def _(cast):
    item = cast.item()
    return Case(
        lambda: fixes.disagree(cast.contact, item, reason="Not ours"),
        cast.contact,
        lambda _item: [{**about(item), "reason": "Not ours"}],
        [MAIL],
    )


@case(fixes.decide_disagreement, "disagreement_decided")
def _(cast):
    item = fixes.disagree(cast.contact, cast.item(), reason="Not ours")
    data = {**about(item), "decision": "stands", "reason": "It is in the way"}
    return Case(
        lambda: fixes.decide_disagreement(
            cast.applicator, item, stands=True, reason="It is in the way"
        ),
        cast.applicator,
        lambda _item: [data],
        [MAIL],
    )

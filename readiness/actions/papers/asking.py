"""Which papers are made of what, and asking for them to be made."""

from functools import partial

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.actions.sharing import share_trade_list
from readiness.actions.tasks import make_paper
from readiness.evidence.record import lock_site
from readiness.models import (
    Booking,
    Paper,
    ReadinessConfirmation,
    Site,
    SiteReport,
    TradeLink,
    User,
)
from readiness.wording.paper.reasons import edition_after_withdrawal
from readiness.wording.refusals import papers as refusals

Kind = Paper.Kind


def queue_report_papers(report: SiteReport) -> list[Paper]:
    """Ask for the papers of an issued report: report, photo record, and each trade's fix list."""
    wanted: list[tuple[Paper.Kind, str, TradeLink | None]]
    wanted = [(Kind.SITE_REPORT, "", None), (Kind.PHOTO_RECORD, "", None)]
    trades = report.items.holding().order_by("trade").values_list("trade", flat=True).distinct()
    for trade in trades:
        link = share_trade_list(report.issued_by, report.site, trade)
        wanted.append((Kind.FIX_LIST, trade, link))
    return [
        _queue(report.site, kind, report.pk, trade=trade, report=report, trade_link=link)
        for kind, trade, link in wanted
    ]


def queue_confirmation_paper(confirmation: ReadinessConfirmation) -> Paper:
    """Ask for the paper of a signed confirmation."""
    return _queue(
        confirmation.report.site,
        Kind.CONFIRMATION,
        confirmation.pk,
        report=confirmation.report,
        confirmation=confirmation,
    )


def queue_withdrawn_confirmation(confirmation: ReadinessConfirmation) -> None:
    """Ask for an edition that says that the confirmation is withdrawn; the signed one is kept.

    One that is only waiting to be made will say so anyway.
    """
    latest = confirmation.papers.order_by("-edition").first()
    if latest and latest.state != Paper.State.QUEUED:
        _next_edition(latest, edition_after_withdrawal())


def queue_treatment_paper(booking: Booking) -> Paper:
    """Ask for the record of a treatment."""
    return _queue(booking.site, Kind.TREATMENT, booking.pk, booking=booking)


def queue_guide(site: Site) -> Paper:
    """Ask for the preparation guide of a site, with the values in force."""
    return _queue(site, Kind.GUIDE, site.pk)


def queue_rule_values(report: SiteReport) -> Paper:
    """Ask for the annex with all rule values of an issued report."""
    return _queue(report.site, Kind.RULE_VALUES, report.pk, report=report)


def _queue(
    site: Site, kind: str, about, *, trade: str = "", edition: int = 1, reason: str = "", **links
) -> Paper:
    subject = f"{kind}/{about}/{trade}/{edition}"
    paper, made = Paper.objects.get_or_create(
        subject=subject,
        defaults={
            "site": site,
            "kind": kind,
            "trade": trade,
            "edition": edition,
            "edition_reason": reason,
            "requested_at": clock.now(),
            "next_try_at": clock.now(),
            **links,
        },
    )
    if made:
        enqueue(paper)
    return paper


def enqueue(paper: Paper) -> None:
    """Hand a paper to the background once this transaction is through."""
    transaction.on_commit(partial(make_paper.enqueue, str(paper.pk)))


@transaction.atomic
def retry_paper(actor: User, paper: Paper) -> Paper:
    """Try again now to make a paper that could not be made, however often it was tried."""
    require_applicator(actor)
    lock_site(paper.site_id)
    paper = Paper.objects.select_for_update(of=("self",)).get(pk=paper.pk)
    if not paper.can_be_retried:
        return paper
    paper.state, paper.given_up_at, paper.attempts = Paper.State.QUEUED, None, 0
    paper.error, paper.next_try_at = "", clock.now()
    paper.save(update_fields=["state", "given_up_at", "attempts", "error", "next_try_at"])
    enqueue(paper)
    return paper


@transaction.atomic
def new_edition(actor: User, paper: Paper, *, reason: str) -> Paper:
    """Make a paper again beside the old one, which stays; the new one says why it was made.

    Asked twice of one edition for the same reason, as when the answer got lost, it is made once.
    """
    require_applicator(actor)
    lock_site(paper.site_id)
    if not reason.strip():
        raise Refused(refusals.no_reason_for_edition())
    later = Paper.objects.editions_of(paper).filter(edition__gt=paper.edition)
    asked_before = later.filter(edition_reason=reason.strip()).first()
    return asked_before or _next_edition(paper, reason.strip())


def _next_edition(paper: Paper, reason: str) -> Paper:
    latest = max(Paper.objects.editions_of(paper).values_list("edition", flat=True))
    return _queue(
        paper.site,
        paper.kind,
        paper.about_id,
        trade=paper.trade,
        edition=latest + 1,
        reason=reason,
        report=paper.report,
        confirmation=paper.confirmation,
        booking=paper.booking,
        trade_link=paper.trade_link,
    )

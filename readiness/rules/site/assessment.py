"""Is a site ready? One pure function from facts to an answer with reasons.

Ready means that the walls are prepared as far as anyone has recorded: it is what lets a builder
contact confirm. A booking needs more: a confirmation in force and a date that suits it. Readiness
is never stored; it is worked out from facts each time, so that it can't go stale.
"""

from __future__ import annotations

from collections.abc import Iterable

from readiness.rules.band.geometry import WallRun
from readiness.rules.site import reasons as why
from readiness.rules.site import referred
from readiness.rules.site.facts import (
    BOOKING,
    BOOKING_ONLY,
    BOTH,
    CONFIRMATION,
    Assessment,
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    Reason,
    ReferralFacts,
    ReportFacts,
    RunAssessment,
    SiteFacts,
    VisitFacts,
)
from readiness.rules.vocabulary import Readiness

__all__ = [
    "BOOKING",
    "BOOKING_ONLY",
    "BOTH",
    "CONFIRMATION",
    "Assessment",
    "BookingFacts",
    "CheckFacts",
    "ConfirmationFacts",
    "ItemFacts",
    "Reason",
    "ReferralFacts",
    "ReportFacts",
    "RunAssessment",
    "SiteFacts",
    "VisitFacts",
    "assess",
]


def assess(facts: SiteFacts) -> Assessment:
    """Say whether the site is ready, whether it can be confirmed and booked, and why not.

    Ready: every wall run was checked in an issued report, and nothing holds the booking. Where
    something is wrong the answer is not ready, whatever else is not known. After a visit in vain
    it stays so until the builder confirms anew, which is why that does not block confirming.
    Live termites come before all else.
    """
    termites = tuple(referred.live_termites(facts))
    prepared = (*why.missing(facts), *why.items(facts), *why.drying(facts))
    notes = (*why.level_notes(facts), *why.other_notes(facts))
    stated = why.confirmation(facts)
    decided = (*stated, *referred.access(facts), *why.booking(facts))
    reasons = (*termites, *prepared, *decided)
    return Assessment(
        site_status=_site_status(facts, (*termites, *prepared)),
        runs=tuple(_run_assessment(run, facts, reasons, notes) for run in facts.walls),
        reasons=reasons,
        notes=notes,
        confirmation_in_force=facts.confirmation is not None and not stated,
    )


def _site_status(facts: SiteFacts, prepared: Iterable[Reason]) -> str:
    if facts.is_treated:
        return Readiness.TREATED
    return Readiness.NOT_READY if facts.turned_away else _status(prepared)


def _status(reasons: Iterable[Reason]) -> str:
    """Not ready beats not known; a reason that ends by itself (drying) still counts."""
    blocking = [reason for reason in reasons if CONFIRMATION in reason.blocks]
    if any(not reason.missing for reason in blocking):
        return Readiness.NOT_READY
    return Readiness.NOT_KNOWN if blocking else Readiness.READY


def _run_assessment(
    run: WallRun, facts: SiteFacts, reasons: tuple[Reason, ...], notes: tuple[Reason, ...]
) -> RunAssessment:
    """A run's own reasons; what is missing for the whole site leaves every run not known.

    So does a visit in vain: somewhere it was not ready, and no report has looked since.
    """
    own = tuple(reason for reason in reasons if reason.run_id == run.id)
    shared = tuple(reason for reason in reasons if reason.run_id is None and reason.missing)
    status, away = _status((*own, *shared)), facts.turned_away
    if status == Readiness.READY and away and not facts.is_issued_after(away.closed_at):
        status = Readiness.NOT_KNOWN
    if not run.reachable_mm and status != Readiness.NOT_READY:
        status = Readiness.OUT_OF_REACH
    return RunAssessment(
        run_id=run.id,
        label=run.label,
        status=status,
        reasons=own,
        notes=tuple(note for note in notes if note.run_id == run.id),
    )

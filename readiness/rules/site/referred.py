"""What only a licensed technician decides, as reasons: live termites, walls nobody can reach."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from readiness.rules.codes import Code
from readiness.rules.site.facts import BOOKING_ONLY, BOTH, Reason, ReferralFacts, SiteFacts
from readiness.rules.vocabulary import ReferralKind, Trade


def live_termites(facts: SiteFacts) -> Iterator[Reason]:
    """Live termites that nobody has decided about yet, or that keep the site closed by decision."""
    for referral in facts.referrals:
        if referral.keeps_closed:
            undecided = referral.outcome is None or referral.decided_at is None
            code = Code.LIVE_TERMITES if undecided else Code.SITE_STAYS_CLOSED
            at = referral.decided_at or referral.noted_at
            day = at.astimezone(facts.local_zone).date()
            yield _referred(facts, referral, code, blocks=BOTH, day=day)


def access(facts: SiteFacts) -> Iterator[Reason]:
    """Walls that nobody can reach, as long as the technician has not decided about them.

    The builder has nothing to do about it, so it does not keep them from confirming.
    """
    runs = {run.id for run in facts.runs}
    for referral in facts.referrals:
        is_open = referral.kind == ReferralKind.NO_ACCESS and referral.outcome is None
        if is_open and referral.run_id in runs:
            yield _referred(
                facts, referral, Code.ACCESS_UNDECIDED,
                blocks=BOOKING_ONLY, missing=True, cause=referral.cause,
            )  # fmt: skip


def _referred(facts: SiteFacts, referral: ReferralFacts, code: Code, **more: Any) -> Reason:
    labels = {run.id: run.label for run in facts.runs}
    return Reason(
        code=code,
        who=Trade.APPLICATOR,
        run_id=referral.run_id if referral.run_id in labels else None,
        run_label=labels.get(referral.run_id or "", ""),
        distance_mm=referral.from_mm,
        to_mm=referral.to_mm,
        referral_id=referral.id,
        **more,
    )

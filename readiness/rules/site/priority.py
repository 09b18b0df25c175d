"""What a site asks of its builder, as a rank to sort lists by. Pure functions.

Lists of thousands of sites can't assess each one to find the first 25. So the rank is stored beside
the site whenever something is done there, with the moment from which it may be another by itself:
a due date passes, a confirmation runs out, a wall dries.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from readiness.rules.site.assessment import Assessment, ItemFacts, SiteFacts, assess
from readiness.rules.site.reasons import confirmation_ends
from readiness.rules.vocabulary import BookingState, Effect, ItemState

OVERDUE, OFFERED, FIXES, TO_CONFIRM, TO_ASK, WAITING, BOOKED, TREATED = range(8)
"""What the builder can act on comes first. With the overdue ones comes a visit that is booked and
can't take place as things stand."""

VERSION = 3
"""Raise it when a site's rank may come out another than before: stored ranks are then renewed."""


@dataclass(frozen=True)
class SitePriority:
    """A site's rank, the earliest due date still to meet, and until when that is sure.

    `until` is exclusive; None where only something done on the site changes the rank. `to_review`
    is whether an item waits for the applicator, `to_fix` whether one waits for the builder.
    """

    rank: int
    first_due: date | None = None
    until: datetime | None = None
    to_review: bool = False
    to_fix: bool = False


def priority_of(facts: SiteFacts) -> SitePriority:
    """What the site asks of its builder at `facts.now`."""
    facts = replace(facts, check_levels=False)  # notes on levels block nothing
    assessment = assess(facts)
    due = _first_due(facts)
    return SitePriority(
        rank=_rank(facts, assessment),
        first_due=due,
        until=_until(facts, assessment, due),
        to_review=any(map(_waits_for_us, facts.items)),
        to_fix=any(map(_waits, facts.items)),
    )


def _rank(facts: SiteFacts, assessment: Assessment) -> int:
    if facts.are_termites_open:
        return WAITING  # for the technician: the builder is to leave all as it is
    if facts.booking and facts.booking.state == BookingState.CONFIRMED:
        return OVERDUE if _booked_in_vain(facts, assessment) else BOOKED
    to_do = [reason for reason in assessment.confirm_reasons if reason.code.is_to_do]
    if to_do:
        return OVERDUE if any(reason.overdue for reason in to_do) else FIXES
    if facts.is_treated:
        return TREATED
    if assessment.confirm_reasons:
        return WAITING
    if assessment.confirmation_in_force:
        return _confirmed(facts, assessment)
    return OFFERED if _is_offered(facts) else TO_CONFIRM


def _booked_in_vain(facts: SiteFacts, assessment: Assessment) -> bool:
    """The day is still to come, something is in its way, and the builder can do it."""
    day = facts.booking.treat_on if facts.booking else None
    if day is None or day < facts.today:
        return False
    reasons = assessment.booking_reasons
    if assessment.waits_for_technician:
        return False
    to_do = any(reason.code.is_to_do for reason in reasons)
    return to_do or bool(reasons and assessment.can_confirm)


def _confirmed(facts: SiteFacts, assessment: Assessment) -> int:
    if _is_offered(facts):
        return WAITING if assessment.waits_for_technician else OFFERED
    asked = facts.booking is not None and facts.booking.state == BookingState.ASKED
    return WAITING if asked else TO_ASK


def _is_offered(facts: SiteFacts) -> bool:
    offered = facts.booking is not None and facts.booking.state == BookingState.OFFERED
    return offered and not facts.offer_has_passed


def _first_due(facts: SiteFacts) -> date | None:
    """The earliest due date of what the builder has to fix."""
    return min((item.due_on for item in facts.items if item.due_on and _waits(item)), default=None)


def _waits(item: ItemFacts) -> bool:
    return (
        item.effect == Effect.HOLDS
        and item.state in (ItemState.TO_FIX, ItemState.SENT_BACK)
        and not item.disputed
    )


def _waits_for_us(item: ItemFacts) -> bool:
    disputed = item.disputed and item.state in (
        ItemState.TO_FIX,
        ItemState.REPORTED_FIXED,
        ItemState.SENT_BACK,
    )
    return disputed or item.state == ItemState.REPORTED_FIXED


def _until(facts: SiteFacts, assessment: Assessment, due: date | None) -> datetime | None:
    """The first moment from which the rank may be another though nothing was done.

    It may also come out the same: then there is a later such moment.
    """
    moments = _turning_points(facts, assessment, due)
    return min((moment for moment in moments if moment > facts.now), default=None)


def _turning_points(
    facts: SiteFacts, assessment: Assessment, due: date | None
) -> Iterator[datetime]:
    if due is not None:
        yield _end_of(due, facts)
    if facts.booking is not None and facts.booking.treat_on is not None:
        yield _end_of(facts.booking.treat_on, facts)
    if facts.confirmation is not None:
        ends = confirmation_ends(facts.confirmation, facts.values)
        yield ends
        yield _end_of(ends.astimezone(facts.local_zone).date(), facts)  # booked for its last day
    for reason in assessment.reasons:
        if reason.until is not None:
            yield reason.until


def _end_of(day: date, facts: SiteFacts) -> datetime:
    """The first moment after a day at the site."""
    return datetime.combine(day + timedelta(days=1), time.min, facts.local_zone)

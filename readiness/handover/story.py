"""What happened on a site, in order: what was wrong, fixed, accepted, confirmed, booked, treated or
turned away and why. From the rows, so that it tells no more than they do.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from readiness.models import (
    Booking,
    DefectItem,
    Fix,
    ReadinessConfirmation,
    Referral,
    Site,
    SiteReport,
    User,
)
from readiness.rules.vocabulary import GO_ON, Outcome
from readiness.wording import story as say
from readiness.wording import visits
from readiness.wording.referrals import outcome_words, stretch


@dataclass(frozen=True)
class Event:
    """Who did what and when; `why` is what they wrote, `lines` what was found."""

    at: datetime
    who: str
    what: str
    why: str = ""
    lines: tuple[str, ...] = ()
    tone: str = ""


def of(site: Site) -> list[Event]:
    """The site's events, the first one first."""
    found = [
        event
        for report in SiteReport.objects.filter(site=site).exclude(issued_at=None)
        for event in _of_report(report)
    ]
    items = DefectItem.objects.filter(report__site=site).exclude(report__issued_at=None)
    for item in items.select_related("disputed_by", "decided_by"):
        found += _of_item(item)
    fixes = Fix.objects.filter(item__in=items)
    for fix in fixes.select_related("item", "said_by", "reviewed_by"):
        found += _of_fix(fix)
    confirmations = ReadinessConfirmation.objects.filter(report__site=site)
    for one in confirmations.select_related("report", "withdrawn_by"):
        found += _of_confirmation(one)
    people = ("asked_by", "offered_by", "confirmed_by", "closed_by")
    for booking in Booking.objects.filter(site=site).select_related(*people):
        found += _of_booking(booking)
    referrals = Referral.objects.filter(site=site).select_related("wall_run", "noted_by")
    for referral in referrals.prefetch_related("decisions"):
        found += _of_referral(referral)
    return sorted(found, key=lambda event: event.at)


def _who(person: User | None) -> str:
    """By name only: an address may be one of the things that stay here."""
    return person.name if person and person.name else say.nobody()


def _of_report(report: SiteReport) -> Iterator[Event]:
    items = list(report.items.select_related("wall_run").order_by("number"))
    lines = tuple(
        say.was_found(item.number, item.kind_entry.name, item.wall_run.label) for item in items
    )
    yield Event(
        report.issued_at, _who(report.issued_by), say.issued(str(report), len(items)), lines=lines
    )


def _of_item(item: DefectItem) -> Iterator[Event]:
    if item.disputed_at:
        words = say.disputed(item.number)
        yield Event(item.disputed_at, _who(item.disputed_by), words, item.dispute_reason)
    if item.decided_at:
        words = say.decided(item.number, item.decision == DefectItem.Decision.STANDS)
        yield Event(item.decided_at, _who(item.decided_by), words, item.decision_reason)


def _of_fix(fix: Fix) -> Iterator[Event]:
    number = fix.item.number
    yield Event(fix.said_at, _who(fix.said_by), say.reported_fixed(number), fix.note)
    if fix.taken_back_at:
        yield Event(fix.taken_back_at, "", say.took_back(number))
    if fix.reviewed_at:
        is_accepted = fix.outcome == Fix.Outcome.ACCEPTED
        words = say.accepted(number) if is_accepted else say.sent_back(number)
        tone = "good" if is_accepted else "bad"
        yield Event(fix.reviewed_at, _who(fix.reviewed_by), words, fix.reason, tone=tone)


def _of_confirmation(one: ReadinessConfirmation) -> Iterator[Event]:
    signed = say.signed_as(one.name, one.position)
    words = say.confirmed(str(one.report))
    yield Event(one.confirmed_at, signed, words, one.statement, tone="good")
    if one.withdrawn_at:
        who = _who(one.withdrawn_by)
        yield Event(one.withdrawn_at, who, say.withdrew(), one.withdrawn_reason, tone="bad")


def _of_referral(one: Referral) -> Iterator[Event]:
    wall = one.wall_run.label if one.wall_run else ""
    where = stretch(wall, one.from_mm, one.to_mm) if wall else ""
    found = say.termites_found(where) if one.is_termites else say.out_of_reach(where)
    yield Event(one.noted_at, _who(one.noted_by), found, one.note, tone="bad")
    for decision in one.decisions.all():
        who = say.decided_as(decision.name, decision.licence_number)
        words = say.technician_decided(outcome_words(decision.outcome), where)
        tone = "good" if decision.outcome in GOOD else "bad"
        yield Event(decision.decided_at, who, words, decision.reason, tone=tone)


GOOD = (*GO_ON, Outcome.CAN_BE_REACHED)
ENDS = {
    Booking.State.TREATED: (say.treated, "good"),
    Booking.State.TURNED_AWAY: (say.turned_away, "bad"),
    Booking.State.CANCELLED: (say.cancelled, "bad"),
}


def _of_booking(one: Booking) -> Iterator[Event]:
    day = visits.named_half_day(one.day, one.half) if one.day else ""
    if one.asked_by_id:
        yield Event(one.asked_at, _who(one.asked_by), say.asked(), one.note)
    if one.offered_at:
        yield Event(one.offered_at, _who(one.offered_by), say.offered(day), one.offer_note)
    if one.confirmed_at:
        yield Event(one.confirmed_at, _who(one.confirmed_by), say.booked(day))
    for off in one.put_offs.select_related("put_off_by"):
        when, why = visits.named_half_day(off.day, off.half), visits.cause_words(off.cause)
        yield Event(off.put_off_at, _who(off.put_off_by), say.put_off(when, why), off.note)
    if one.closed_at and one.state in ENDS:
        words, tone = ENDS[Booking.State(one.state)]
        yield Event(one.closed_at, _who(one.closed_by), words(), one.closing_note, tone=tone)

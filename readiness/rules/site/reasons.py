"""Why a site is not ready, or can't be confirmed or booked: each reason, as code and facts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from readiness.rules.band.notes import site_notes
from readiness.rules.codes import Code
from readiness.rules.defects.catalogue import check_measurement
from readiness.rules.site.facts import (
    BOOKING,
    BOOKING_ONLY,
    BOTH,
    CONFIRMATION,
    ConfirmationFacts,
    ItemFacts,
    Reason,
    SiteFacts,
    VisitFacts,
)
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.vocabulary import BookingState, Effect, ItemState, Trade

# What nobody knows yet


def missing(facts: SiteFacts) -> Iterator[Reason]:
    """No wall runs, no issued report, or walls that the report does not say were checked."""
    if not facts.runs:
        yield _unknown(Code.NO_RUNS)
        return
    if facts.report is None or facts.report.issued_at is None:
        yield _unknown(Code.NO_REPORT)
        return
    checked = {check.run_id for check in facts.report.checks}
    for run in facts.walls_asked:
        if run.id not in checked:
            number = facts.report.number
            yield _unknown(Code.RUN_UNCHECKED, run_id=run.id, run_label=run.label, report=number)


def _unknown(code: Code, **more: Any) -> Reason:
    return Reason(code=code, who=Trade.APPLICATOR, blocks=BOTH, missing=True, **more)


# What is wrong on the walls


def items(facts: SiteFacts) -> Iterator[Reason]:
    """One reason for each item that still holds the booking."""
    for item in facts.items:
        if still_holds(item, facts.reported_is_enough):
            yield _item_reason(item, facts)


def still_holds(item: ItemFacts, reported_is_enough: bool) -> bool:
    """True while a holding item stands in the way.

    An item that the builder disagrees with holds until it is accepted or withdrawn.
    """
    if item.effect != Effect.HOLDS or item.state == ItemState.ACCEPTED:
        return False
    return item.disputed or not (reported_is_enough and item.state == ItemState.REPORTED_FIXED)


def _item_reason(item: ItemFacts, facts: SiteFacts) -> Reason:
    kind = facts.kind(item.kind)
    check = check_measurement(kind, item.measured_value, facts.values)
    due = item.due_on if item.state != ItemState.REPORTED_FIXED else None
    code, who = _state_code(item)
    return Reason(
        code=code,
        who=who,
        blocks=BOTH,
        run_id=item.run_id,
        run_label=_labels(facts).get(item.run_id, ""),
        distance_mm=item.from_mm,
        to_mm=item.to_mm,
        item_id=item.id,
        item_number=item.number,
        kind_name=kind.name,
        rule_key=check.rule_key if check else None,
        found=item.measured_value,
        needed=check.needed if check else None,
        unit=check.unit if check else "",
        source=check.source if check else "",
        day=due,
        overdue=due is not None and due < facts.today,
    )


def _state_code(item: ItemFacts) -> tuple[Code, str]:
    """The code, and who acts."""
    if item.disputed:
        return Code.ITEM_DISPUTED, Trade.APPLICATOR
    if item.state == ItemState.REPORTED_FIXED:
        return Code.WAITING_FOR_REVIEW, Trade.APPLICATOR
    if item.state == ItemState.SENT_BACK:
        return Code.ITEM_SENT_BACK, item.trade
    return Code.ITEM_TO_FIX, item.trade


def _labels(facts: SiteFacts) -> dict[str, str]:
    return {run.id: run.label for run in facts.runs}


# What time will mend


def drying(facts: SiteFacts) -> Iterator[Reason]:
    """Walls that were washed or rained on and are not dry yet: now, or on the booked day."""
    for item in facts.items:
        if item.cleaned_wet_at is not None:
            dry_at = item.cleaned_wet_at + timedelta(hours=facts.values["drying_hours"])
            yield from _wet(facts, Code.DRYING, dry_at, "drying_hours", item)
    if facts.rain_at is not None:
        dry_at = facts.rain_at + timedelta(hours=facts.values["rain_drying_hours"])
        yield from _wet(facts, Code.RAIN, dry_at, "rain_drying_hours", None)


def _wet(
    facts: SiteFacts, code: Code, dry_at: datetime, rule_key: str, item: ItemFacts | None
) -> Iterator[Reason]:
    treat_at = _treatment_start(facts) or facts.now
    blocks = {CONFIRMATION} if facts.now < dry_at else set()
    if max(facts.now, treat_at) < dry_at:
        blocks.add(BOOKING)
    if not blocks:
        return
    yield Reason(
        code=code,
        who=Trade.BUILDER,
        blocks=frozenset(blocks),
        run_id=item.run_id if item else None,
        run_label=_labels(facts).get(item.run_id, "") if item else "",
        distance_mm=item.from_mm if item else None,
        to_mm=item.to_mm if item else None,
        item_id=item.id if item else None,
        item_number=item.number if item else None,
        rule_key=rule_key,
        needed=facts.values[rule_key],
        unit="h",
        source=facts.values.source_words(rule_key),
        until=dry_at,
        at=dry_at.astimezone(facts.local_zone),
    )


def _treatment_start(facts: SiteFacts) -> datetime | None:
    """When the treatment is to start; a day alone counts from its first minute at the site."""
    booking_facts = facts.booking
    if booking_facts is None:
        return None
    if booking_facts.treat_at is not None:
        return booking_facts.treat_at
    if booking_facts.treat_on is not None:
        return datetime.combine(booking_facts.treat_on, time.min, facts.local_zone)
    return None


# What a booking needs on top


def confirmation(facts: SiteFacts) -> tuple[Reason, ...]:
    """Why there is no readiness confirmation in force. These block a booking only."""
    stated, away = facts.confirmation, facts.turned_away
    in_vain = (_turned_away(away),) if away else ()
    if away and (stated is None or stated.confirmed_at <= away.closed_at):
        return in_vain
    if stated is None:
        return (_unconfirmed(Code.NOT_CONFIRMED),)
    if stated.withdrawn_at is not None:
        return (_unconfirmed(Code.CONFIRMATION_WITHDRAWN), *in_vain)
    lapsed = _lapsed(facts, stated)
    return (lapsed,) if lapsed else _unticked(facts, stated)


def _turned_away(visit: VisitFacts) -> Reason:
    """A visit in vain: a confirmation of before it counts no more."""
    return _unconfirmed(Code.TURNED_AWAY, day=visit.day, note=visit.note)


def _unconfirmed(code: Code, **more: Any) -> Reason:
    return Reason(code=code, who=Trade.BUILDER, blocks=BOOKING_ONLY, **more)


def _lapsed(facts: SiteFacts, stated: ConfirmationFacts) -> Reason | None:
    report = facts.report
    if report is not None and report.number != stated.report_number:
        return _unconfirmed(
            Code.CONFIRMATION_SUPERSEDED, report=report.number, earlier_report=stated.report_number
        )
    later = [item for item in facts.items if _issued_after(item, stated.confirmed_at)]
    if later:
        return _unconfirmed(Code.CONFIRMATION_NEW_ITEM, count=len(later), item_id=later[0].id)
    until = confirmation_ends(stated, facts.values)
    if until <= facts.now and not _is_booked_for_its_last_day(facts, until):
        return _unconfirmed(
            Code.CONFIRMATION_EXPIRED,
            at=until.astimezone(facts.local_zone),
            rule_key="confirmation_valid_days",
        )
    return None


def _is_booked_for_its_last_day(facts: SiteFacts, until: datetime) -> bool:
    """Whether today is the booked day and the one in which the confirmation ends.

    Days are what is offered and accepted: the last one counts whole, or a site would stop being
    ready on the morning of the visit.
    """
    booked = facts.booking
    if booked is None or booked.state != BookingState.CONFIRMED:
        return False
    return booked.treat_on == facts.today == until.astimezone(facts.local_zone).date()


def _issued_after(item: ItemFacts, moment: datetime) -> bool:
    return item.effect == Effect.HOLDS and item.issued_at is not None and item.issued_at > moment


def confirmation_ends(stated: ConfirmationFacts, values: RuleValues) -> datetime:
    """When the confirmation lapses by itself."""
    days = timedelta(days=values["confirmation_valid_days"])
    return stated.valid_until or stated.confirmed_at + days


def _unticked(facts: SiteFacts, stated: ConfirmationFacts) -> tuple[Reason, ...]:
    asked = facts.walls_asked
    left = tuple(run.label for run in asked if run.id not in stated.ticked_run_ids)
    return (_unconfirmed(Code.RUN_UNTICKED, labels=left),) if left else ()


def booking(facts: SiteFacts) -> Iterator[Reason]:
    """Dates that don't suit: too long after the confirmation, after it lapses, or in the past."""
    wanted = facts.booking.treat_on if facts.booking else None
    if facts.booking and wanted is None and facts.booking.treat_at:
        wanted = facts.booking.treat_at.astimezone(facts.local_zone).date()
    if wanted is None:
        return
    if wanted < facts.today:
        yield _bad_date(Code.DATE_PAST, Trade.APPLICATOR, wanted)
    stated = facts.confirmation
    if stated is None or stated.withdrawn_at is not None:
        return
    latest = last_day_of(stated, facts)
    if wanted > latest:
        confirmed_on = stated.confirmed_at.astimezone(facts.local_zone).date()
        yield _bad_date(
            Code.DATE_TOO_LATE, Trade.BUILDER, wanted, confirmed_on=confirmed_on, latest=latest,
            rule_key="confirmation_to_booking_days", found=(wanted - confirmed_on).days,
            needed=facts.values["confirmation_to_booking_days"], unit="days",
            source=facts.values.source_words("confirmation_to_booking_days"),
        )  # fmt: skip


def last_day_of(stated: ConfirmationFacts, facts: SiteFacts) -> date:
    """The last day of treatment that a confirmation covers."""
    zone = facts.local_zone
    confirmed_on = stated.confirmed_at.astimezone(zone).date()
    most = timedelta(days=facts.values["confirmation_to_booking_days"])
    ends_on = confirmation_ends(stated, facts.values).astimezone(zone).date()
    return min(confirmed_on + most, ends_on)


def _bad_date(code: Code, who: str, day: date, **more: Any) -> Reason:
    return Reason(code=code, who=who, blocks=BOOKING_ONLY, day=day, **more)


# Notes: worth knowing, they block nothing


def level_notes(facts: SiteFacts) -> Iterator[Reason]:
    """What the levels say, or that none were entered. A person decides what becomes an item.

    What has become an item already is not said twice.
    """
    if not facts.check_levels:
        return
    reported = {(item.run_id, item.kind) for item in facts.items}
    labels = _labels(facts)
    for note in site_notes(facts.walls, facts.values):
        if (note.run_id, note.kind) in reported:
            continue
        yield Reason(
            code=note.code, who=Trade.APPLICATOR, missing=note.code is Code.NO_LEVELS,
            run_id=note.run_id, run_label=labels.get(note.run_id or "", ""),
            distance_mm=note.distance_mm, labels=note.labels, levels=note,
        )  # fmt: skip


def other_notes(facts: SiteFacts) -> Iterator[Reason]:
    """Small things that the applicator will do on the day."""
    labels = _labels(facts)
    for item in facts.items:
        if item.effect == Effect.ON_THE_DAY and item.state != ItemState.ACCEPTED:
            yield Reason(
                code=Code.APPLICATOR_WILL_DO, who=Trade.APPLICATOR, run_id=item.run_id,
                run_label=labels.get(item.run_id, ""), distance_mm=item.from_mm, to_mm=item.to_mm,
                item_id=item.id, item_number=item.number, kind_name=facts.kind(item.kind).name,
            )  # fmt: skip

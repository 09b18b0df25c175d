"""Putting a booked day off, for rain or wind or because one side can't make it."""

import uuid
from datetime import date

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.actions.visits.booking import (
    check_day,
    day_data,
    locked,
    must_be_confirmed,
    put_on_offer,
)
from readiness.evidence.record import append
from readiness.messages import outbox
from readiness.models import Booking, PutOff, User
from readiness.models.verbs import Verb
from readiness.wording.refusals import visits as refusals


@transaction.atomic
def put_off(
    actor: User,
    booking: Booking,
    *,
    cause: str,
    day: date | None = None,
    half: str = "",
    note: str = "",
    put_off_id: uuid.UUID | None = None,
    seen: str | None = None,
) -> PutOff:
    """The booked day is off; the booking goes on, with another day on offer or with none yet.

    The builder accepts the other day like any offer. `cause` is a `PutOffCause`, `note` what both
    sides read. `seen` is the `Booking.booked` that the person had before them: a day that was
    booked meanwhile is not put off unseen. One `put_off_id` is one act.
    """
    require_applicator(actor)
    site, booking = locked(booking)
    known = PutOff.objects.filter(pk=put_off_id).first() if put_off_id else None
    if known:
        if known.booking_id != booking.pk:
            raise Refused(refusals.another_day_put_off())
        return known
    must_be_confirmed(booking)
    if seen is not None and seen != booking.booked:
        raise Refused(refusals.booked_day_changed(booking.day, booking.half))
    _check(booking, cause, day, half)
    one = PutOff.objects.create(
        pk=put_off_id or uuid.uuid4(),
        booking=booking,
        day=booking.day,
        half=booking.half,
        cause=cause,
        note=note.strip(),
        put_off_by=actor,
        put_off_at=clock.now(),
    )
    data = {"booking": str(booking.pk), "cause": cause, **day_data(booking)}
    booking.state, booking.day, booking.half = Booking.State.ASKED, None, ""
    booking.confirmed_by = booking.confirmed_at = booking.confirmation = None
    booking.put_off_at = one.put_off_at
    booking.save()
    append(site, actor, Verb.BOOKING_PUT_OFF, data, rows=[one, booking], said={"note": one.note})
    if day:
        put_on_offer(booking, actor, day, half, one.note)
    outbox.booking_put_off(one)
    return one


def _check(booking: Booking, cause: str, day: date | None, half: str) -> None:
    if cause not in PutOff.Cause.values:
        raise Refused(refusals.no_cause_to_put_off())
    if day is None:
        return
    if half not in Booking.Half.values:
        raise Refused(refusals.no_half())
    if (day, half) == (booking.day, booking.half):
        raise Refused(refusals.same_day_again(day, half))
    check_day(booking.site, day)

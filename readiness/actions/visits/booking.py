"""From asking for a day to the treatment."""

import uuid
from collections.abc import Sequence
from datetime import date, timedelta

from django.db import transaction

from readiness import clock
from readiness.actions import anchoring, limits
from readiness.actions.errors import Refused
from readiness.actions.papers import asking
from readiness.actions.permission import require_applicator, require_contact, require_visible
from readiness.actions.sites.sites import require_open
from readiness.actions.visits.confirming import problem_from
from readiness.calendars import calendar_at
from readiness.evidence.record import append, lock_site
from readiness.facts import SiteState
from readiness.messages import outbox
from readiness.models import Booking, Site, User
from readiness.models.verbs import Verb
from readiness.rules.codes import Code
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.office import OFFICE
from readiness.wording.refusals import visits as refusals

State = Booking.State
FURTHEST_AHEAD = timedelta(days=366)


@transaction.atomic
def ask_for_booking(
    actor: User,
    site: Site,
    *,
    preferences: Sequence[tuple[date, str]],
    note: str = "",
    booking_id: uuid.UUID | None = None,
    seen: str | None = None,
) -> Booking:
    """The builder asks for a day; it may come before the site is ready.

    `preferences` are (day, "morning" or "afternoon"). Asking again while a request is open changes
    its preferences. `seen` is the `Booking.offer` that the person had before them: asking lets go
    of that one, and of no other.
    """
    site = lock_site(site.pk)
    require_contact(actor, site)
    if site.closed_at:
        raise Refused(refusals.site_is_archived_to_builder())
    _check_preferences(site, preferences)
    wanted = [{"date": day.isoformat(), "half": half} for day, half in preferences]
    booking = Booking.objects.open().filter(site=site).first()
    if booking and booking.state == State.CONFIRMED:
        raise Refused(refusals.booked_already_to_ask())
    if booking and booking.offer:
        _must_be_the_offer_seen(booking, seen)
    if booking is None:
        booking = Booking(pk=booking_id or uuid.uuid4(), site=site)
    elif not booking.was_put_off and _is_asked_for(booking, wanted, note):
        return booking
    limits.require_room_to_ask_for_a_day(actor, site)
    booking.state, booking.day, booking.half = State.ASKED, None, ""
    booking.asked_by, booking.asked_at, booking.put_off_at = actor, clock.now(), None
    booking.preferences, booking.note = wanted, note
    booking.save()
    data = {"booking": str(booking.pk), "preferences": wanted}
    append(site, actor, Verb.BOOKING_ASKED, data, rows=[booking])
    outbox.booking_asked(booking)
    return booking


def _is_asked_for(booking: Booking, wanted: list[dict], note: str) -> bool:
    """Whether just this was asked for before, and still waits."""
    asked = (booking.state, booking.preferences, booking.note)
    return asked == (State.ASKED, wanted, note)


def _check_preferences(site: Site, preferences: Sequence[tuple[date, str]]) -> None:
    if not preferences:
        raise Refused(refusals.no_day())
    for day, half in preferences:
        if half not in Booking.Half.values:
            raise Refused(refusals.no_half_of_a_day())
        check_day(site, day)


def check_day(site: Site, day: date) -> None:
    today = clock.now().astimezone(site.zone).date()
    calendar = calendar_at(site)
    if day < today:
        raise Refused(refusals.day_passed(day))
    holiday = calendar.holiday_name(day)
    if holiday:
        raise Refused(refusals.public_holiday(day, site.state, holiday))
    day_off = calendar.day_off_name(day)
    if day_off:
        raise Refused(refusals.closed(day, day_off))
    if day.weekday() == 6:
        raise Refused(refusals.sunday(day))
    if day > today + FURTHEST_AHEAD:
        raise Refused(refusals.too_far_ahead(day))


@transaction.atomic
def offer_date(
    actor: User,
    site: Site,
    *,
    day: date,
    half: str,
    note: str = "",
    booking_id: uuid.UUID | None = None,
) -> Booking:
    """The applicator offers a day, whether or not one was asked for.

    It may come before the site is ready; but not after a visit in vain that no readiness
    confirmation has followed, nor while live termites keep the site closed.
    """
    require_applicator(actor)
    site = lock_site(site.pk)
    require_open(site)
    _must_be_open_to_offers(site)
    if half not in Booking.Half.values:
        raise Refused(refusals.no_half())
    check_day(site, day)
    booking = Booking.objects.open().filter(site=site).first()
    if booking and booking.state == State.CONFIRMED:
        raise Refused(refusals.booked_already_to_offer())
    offer = (State.OFFERED, day, half, note)
    if booking is None:
        booking = Booking(pk=booking_id or uuid.uuid4(), site=site, asked_at=clock.now())
    elif (booking.state, booking.day, booking.half, booking.offer_note) == offer:
        return booking
    put_on_offer(booking, actor, day, half, note)
    outbox.booking_offered(booking)
    return booking


def put_on_offer(booking: Booking, actor: User, day: date, half: str, note: str) -> None:
    """Keep the half-day as offered; telling the builder is the caller's."""
    booking.state, booking.day, booking.half = State.OFFERED, day, half
    booking.put_off_at = None
    booking.offered_by, booking.offered_at, booking.offer_note = actor, clock.now(), note
    booking.save()
    data = {"booking": str(booking.pk), **day_data(booking)}
    append(booking.site, actor, Verb.BOOKING_OFFERED, data, rows=[booking])


@transaction.atomic
def accept_offer(actor: User, booking: Booking, *, seen: str | None = None) -> Booking:
    """The builder accepts the offered day; only once the site is ready.

    `seen` is the `Booking.offer` that the person had before them: a later one is not accepted
    unseen. Raises Refused with every reason that stands in the way.
    """
    site, booking = locked(booking)
    require_contact(actor, site)
    if booking.state == State.CONFIRMED:
        return booking
    _must_be_offered(booking, seen)
    check_day(site, booking.day)
    state = SiteState.of(site)
    if not state.assessment.can_book:
        reasons = state.assessment.booking_reasons
        raise Refused([problem_from(reason, BUILDER) for reason in reasons])
    booking.state, booking.confirmation = State.CONFIRMED, state.confirmation
    booking.confirmed_by, booking.confirmed_at = actor, clock.now()
    booking.save()
    append(
        site,
        actor,
        Verb.BOOKING_CONFIRMED,
        {
            "booking": str(booking.pk),
            "confirmation": str(booking.confirmation_id),
            **day_data(booking),
        },
        rows=[booking],
    )
    outbox.booking_confirmed(booking)
    return booking


@transaction.atomic
def decline_offer(
    actor: User, booking: Booking, *, note: str = "", seen: str | None = None
) -> Booking:
    """The builder turns the offered day down (the one that they saw); the request stays open."""
    site, booking = locked(booking)
    require_contact(actor, site)
    _must_be_offered(booking, seen)
    data = {"booking": str(booking.pk), **day_data(booking)}
    booking.state, booking.day, booking.half = State.ASKED, None, ""
    if note:
        booking.note = note
    booking.save()
    append(site, actor, Verb.BOOKING_DECLINED, data, rows=[booking], said={"note": note})
    outbox.booking_declined(booking)
    return booking


@transaction.atomic
def cancel_booking(actor: User, booking: Booking, *, reason: str = "") -> Booking:
    """Either side cancels what is under way; a confirmed day needs a reason."""
    site, booking = locked(booking)
    require_visible(actor, site)
    if booking.state == State.CANCELLED:
        return booking
    if not booking.is_open:
        raise Refused(refusals.booking_is_closed(booking.state))
    if booking.state == State.CONFIRMED and not reason.strip():
        raise Refused(refusals.no_reason_to_cancel())
    _close(booking, actor, State.CANCELLED, reason)
    _append_closing(site, actor, Verb.BOOKING_CANCELLED, booking)
    outbox.booking_cancelled(booking)
    return booking


@transaction.atomic
def turn_away(actor: User, booking: Booking, *, reason: str) -> Booking:
    """The applicator came, on the booked day or later, and the site was not ready."""
    require_applicator(actor)
    site, booking = locked(booking)
    if not reason.strip():
        raise Refused(refusals.no_reason_to_turn_away())
    if booking.state == State.TURNED_AWAY:
        return booking
    must_be_confirmed(booking)
    _must_have_come(site, booking)
    _close(booking, actor, State.TURNED_AWAY, reason)
    _append_closing(site, actor, Verb.TURNED_AWAY, booking)
    outbox.booking_turned_away(booking)
    return booking


@transaction.atomic
def record_treatment(
    actor: User,
    booking: Booking,
    *,
    used_ml: int,
    batch_number: str = "",
    weather: str = "",
    note: str = "",
) -> Booking:
    """The applicator records the treatment, on the booked day or later.

    `used_ml` is the liquid used, in mL. The paper and the e-mail say that the site was treated on
    the booked day, so a day that is still to come is refused.
    """
    require_applicator(actor)
    site, booking = locked(booking)
    if booking.state == State.TREATED:
        return booking
    must_be_confirmed(booking)
    _must_have_come(site, booking)
    if not 1 <= used_ml <= 1_000_000:
        raise Refused(refusals.liquid_unbelievable())
    booking.used_ml, booking.batch_number, booking.weather = used_ml, batch_number, weather
    booking.treated_by = actor
    _close(booking, actor, State.TREATED, note)
    append(
        site,
        actor,
        Verb.TREATED,
        {"booking": str(booking.pk), "used_ml": used_ml, "batch": batch_number},
        rows=[booking],
    )
    anchoring.checkpoint_after(anchoring.Reason.TREATED)
    asking.queue_treatment_paper(booking)
    outbox.site_treated(booking)
    return booking


def _must_be_open_to_offers(site: Site) -> None:
    """No live termites keep it closed, and it was confirmed anew since a visit in vain."""
    reasons = SiteState.of(site, with_levels=False).assessment.booking_reasons
    found = [one for one in reasons if one.code.is_about_termites or one.code is Code.TURNED_AWAY]
    if found:
        raise Refused([problem_from(reason, OFFICE) for reason in found])


def locked(booking: Booking) -> tuple[Site, Booking]:
    site = lock_site(Booking.objects.values_list("site", flat=True).get(pk=booking.pk))
    return site, Booking.objects.select_related("site__builder").get(pk=booking.pk)


def must_be_confirmed(booking: Booking) -> None:
    if booking.state != State.CONFIRMED:
        raise Refused(refusals.booking_is_not_confirmed(booking.state))


def _must_be_offered(booking: Booking, seen: str | None) -> None:
    if not booking.offer:
        raise Refused(refusals.no_offer())
    _must_be_the_offer_seen(booking, seen)


def _must_be_the_offer_seen(booking: Booking, seen: str | None) -> None:
    """Who does not say what they saw (a command, the demo) means the offer as it stands."""
    if seen is None or seen == booking.offer:
        return
    raise Refused(refusals.offer_changed(booking.day, booking.half))


def _must_have_come(site: Site, booking: Booking) -> None:
    day = booking.day
    if day > clock.now().astimezone(site.zone).date():
        raise Refused(refusals.too_early(day))


def _close(booking: Booking, actor: User, state: str, note: str) -> None:
    booking.state, booking.closing_note = state, note
    booking.closed_by, booking.closed_at = actor, clock.now()
    booking.save()


def _append_closing(site: Site, actor: User, verb: Verb, booking: Booking) -> None:
    data, reason = {"booking": str(booking.pk)}, booking.closing_note
    append(site, actor, verb, data, rows=[booking], said={"reason": reason})


def day_data(booking: Booking) -> dict:
    return {"day": booking.day.isoformat(), "half": booking.half}

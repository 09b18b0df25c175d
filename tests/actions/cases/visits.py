"""Readiness, bookings, and lists for one trade."""

from datetime import date, timedelta

from readiness.actions import sharing
from readiness.actions.visits import booking, confirming, putting_off
from readiness.models import Paper
from readiness.snapshots import snapshot_digest
from tests.actions.cases.base import CHECKPOINT, FRIDAY, MAIL, MONDAY, NOW, PAPER, Case, case
from tests.factories import confirm


@case(confirming.confirm_ready, "ready_confirmed")
def _(cast):
    report = cast.issued(kinds=())
    return Case(
        lambda: confirm(cast.contact, report),
        cast.contact,
        lambda confirmation: [
            {
                "confirmation": str(confirmation.pk),
                "report": str(report.pk),
                "number": 1,
                # `confirmation_valid_days`: common practice (no source).
                "valid_until": (NOW + timedelta(days=7)).isoformat(),
                "sha256": snapshot_digest(confirming.signed_content(confirmation)),
            }
        ],
        [CHECKPOINT, PAPER, MAIL, MAIL],
    )


@case(confirming.withdraw_confirmation, "confirmation_withdrawn")
def _(cast):
    confirmation = cast.confirmed()
    confirmation.papers.update(
        state=Paper.State.MADE, digest="0" * 64, pages=1, started_at=NOW, made_at=NOW
    )
    return Case(
        lambda: confirming.withdraw_confirmation(cast.contact, confirmation, reason="Scaffold"),
        cast.contact,
        lambda _confirmation: [{"confirmation": str(confirmation.pk), "reason": "Scaffold"}],
        [PAPER, MAIL],
    )


TUESDAY = date(2026, 11, 24)
THE_DAY = {"day": "2026-11-27", "half": "morning"}


@case(booking.ask_for_booking, "booking_asked")
def _(cast):
    return Case(
        lambda: booking.ask_for_booking(cast.contact, cast.site, preferences=[(FRIDAY, "morning")]),
        cast.contact,
        lambda made: [
            {
                "booking": str(made.pk),
                "preferences": [{"date": "2026-11-27", "half": "morning"}],
            }
        ],
        [MAIL],
    )


@case(booking.offer_date, "booking_offered")
def _(cast):
    return Case(
        cast.offered,
        cast.applicator,
        lambda made: [{"booking": str(made.pk), **THE_DAY}],
        [MAIL],
    )


@case(booking.accept_offer, "booking_confirmed")
def _(cast):
    confirmation, offered = cast.confirmed(), cast.offered()
    data = {"booking": str(offered.pk), "confirmation": str(confirmation.pk), **THE_DAY}
    return Case(
        lambda: booking.accept_offer(cast.contact, offered),
        cast.contact,
        lambda _booking: [data],
        [MAIL, MAIL],
    )


@case(booking.decline_offer, "booking_declined")
def _(cast):
    offered = cast.offered()
    return Case(
        lambda: booking.decline_offer(cast.contact, offered, note="Roofers"),
        cast.contact,
        lambda _booking: [{"booking": str(offered.pk), **THE_DAY, "note": "Roofers"}],
        [MAIL],
    )


@case(putting_off.put_off, "booking_put_off", "booking_offered")
def _(cast):
    booked = cast.booked()
    of = {"booking": str(booked.pk)}
    return Case(
        lambda: putting_off.put_off(
            cast.applicator, booked, cause="rain", day=TUESDAY, half="afternoon", note="All week."
        ),
        cast.applicator,
        lambda _one: [
            {**of, **THE_DAY, "cause": "rain", "note": "All week."},
            {**of, "day": "2026-11-24", "half": "afternoon"},
        ],
        [MAIL, MAIL],
    )


@case(booking.cancel_booking, "booking_cancelled")
def _(cast):
    booked = cast.booked()
    return Case(
        lambda: booking.cancel_booking(cast.contact, booked, reason="Storm"),
        cast.contact,
        lambda _booking: [{"booking": str(booked.pk), "reason": "Storm"}],
        [MAIL, MAIL],
    )


@case(booking.turn_away, "turned_away")
def _(cast):
    booked = cast.booked(MONDAY)
    return Case(
        lambda: booking.turn_away(cast.applicator, booked, reason="Wet"),
        cast.applicator,
        lambda _booking: [{"booking": str(booked.pk), "reason": "Wet"}],
        [MAIL],
    )


@case(booking.record_treatment, "treated")
def _(cast):
    booked = cast.booked(MONDAY)
    return Case(
        lambda: booking.record_treatment(cast.applicator, booked, used_ml=5000, batch_number="B7"),
        cast.applicator,
        lambda _booking: [{"booking": str(booked.pk), "used_ml": 5000, "batch": "B7"}],
        [CHECKPOINT, PAPER, MAIL],
    )


@case(sharing.share_trade_list, "list_shared")
def _(cast):
    return Case(
        lambda: sharing.share_trade_list(cast.contact, cast.site, "bricklayer"),
        cast.contact,
        lambda link: [{"link": str(link.pk), "trade": "bricklayer"}],
    )


@case(sharing.revoke_trade_link, "list_revoked")
def _(cast):
    link = sharing.share_trade_list(cast.contact, cast.site, "bricklayer")
    return Case(
        lambda: sharing.revoke_trade_link(cast.contact, link),
        cast.contact,
        lambda _link: [{"link": str(link.pk)}],
    )

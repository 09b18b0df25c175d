"""Why a day can't be asked for, offered, accepted or closed, and readiness not confirmed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from readiness.rules.words import listed
from readiness.wording import dates, states, visits

# The day


def site_is_archived_to_builder() -> str:
    return _("This site is finished and archived. Ask us to open it again first.")


def booked_already_to_ask() -> str:
    return _("This site is booked already. Cancel that booking to ask for another day.")


def booked_already_to_offer() -> str:
    return _("This site is booked already. Put that day off to offer another.")


def no_day() -> str:
    return _("Choose at least one half-day that suits you.")


def no_half_of_a_day() -> str:
    return _("Choose morning or afternoon for each day.")


def no_half() -> str:
    return _("Choose morning or afternoon.")


def day_passed(day: date) -> str:
    return _("%(day)s has passed. Choose a later day.") % {"day": dates.full_day(day)}


def public_holiday(day: date, state: str, holiday: str) -> str:
    return _(
        "%(day)s is a public holiday in %(state)s (%(holiday)s). Choose another day."
    ) % {"day": dates.full_day(day), "state": state, "holiday": holiday}  # fmt: skip


def closed(day: date, name: str) -> str:
    """On a local day off or in a shut-down of the business."""
    return _("We are closed on %(day)s (%(name)s). Choose another day.") % {
        "day": dates.full_day(day),
        "name": name,
    }


def sunday(day: date) -> str:
    return _("%(day)s is a Sunday. Choose another day.") % {"day": dates.full_day(day)}


def too_far_ahead(day: date) -> str:
    return _("%(day)s is more than a year away. Check the year.") % {"day": dates.full_day(day)}


# The booking


def booking_is_closed(state: str) -> str:
    return _("This booking is closed: %(state)s. It can't be cancelled any more.") % {
        "state": states.in_a_sentence(state)
    }


def booking_is_not_confirmed(state: str) -> str:
    """A visit is recorded of a booking that is not confirmed (any more)."""
    return _("No visit can be recorded: this booking is now %(state)s. Check it first.") % {
        "state": states.in_a_sentence(state)
    }


def no_offer() -> str:
    return _("No day is on offer any more. Check how the booking stands now.")


def offer_changed(day: date, half: str) -> str:
    """Another day is on offer than the one that was on the screen."""
    on = visits.named_half_day(day, half)
    return _("The day on offer is now %(when)s. Check it first.") % {"when": on}


def no_cause_to_put_off() -> str:
    return _("Say why the day is put off.")


def same_day_again(day: date, half: str) -> str:
    """The half-day that is offered instead is the one that is put off."""
    return _("%(when)s is the day that you put off. Offer another, or none yet.") % {
        "when": visits.named_half_day(day, half)
    }


def booked_day_changed(day: date, half: str) -> str:
    """Another day is booked than the one that was on the screen."""
    return _("The day that is booked is now %(when)s. Check it first.") % {
        "when": visits.named_half_day(day, half)
    }


def another_day_put_off() -> str:
    return _("This form put off the day of another site. Open the booking again.")


def too_early(day: date) -> str:
    return _(
        "This site is booked for %(day)s, which is still to come. To go earlier, put that day off "
        "and offer the earlier one first."
    ) % {"day": dates.long_day(day)}


def no_reason_to_cancel() -> str:
    return _("Say why the confirmed day is cancelled. The other side reads it.")


def no_reason_to_turn_away() -> str:
    return _("Say what was not ready. The builder reads it.")


def liquid_unbelievable() -> str:
    return _("Check the liquid used. It can be from 0.001 L to 1000 L.")


# Confirming readiness


def no_name_to_sign_with() -> str:
    return _("Your account has no name yet. Fill it in under your details, then sign.")


def no_position_to_sign_with() -> str:
    return _("Your account has no position yet. Fill it in under your details, then sign.")


def not_shown_who_signs() -> str:
    return _("Show first that it is you: today, on this device. Then sign.")


def nobody_vouches() -> str:
    return _(
        "Nobody has vouched for this account yet. Show that it is you with a code that we e-mail "
        "to your own address, or ask an administrator of your firm to vouch for you on the People "
        "page."
    )


def signed_as_another(own: str, typed: str) -> str:
    return _(
        "You are signed in as %(own)s, so “%(typed)s” can't sign here. Each person signs with "
        "their own account."
    ) % {"own": own, "typed": typed}


def form_of_another_report() -> str:
    return _("This is the form of another report. Read this report again, then sign.")


def signed_and_withdrawn() -> str:
    return _(
        "What you signed with this form was withdrawn. If the site is ready again, check the "
        "walls and sign again."
    )


def newer_report() -> str:
    return _("A newer report was issued while you were signing. Read it first.")


def not_ticked(wall: str, ticks: Sequence[str]) -> str:
    """What the signer did not tick of a wall, by the words beside the boxes."""
    return _("%(wall)s: tick %(ticks)s.") % {"wall": wall, "ticks": listed(ticks)}


def no_reason_to_withdraw() -> str:
    return _("Say why the confirmation is withdrawn. The other side reads it.")

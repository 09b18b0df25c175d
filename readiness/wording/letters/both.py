"""What e-mails and calendar files say to both sides alike, and the invitation."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.models import Booking, Business, Site
from readiness.wording.letters.words import Words, with_reason
from readiness.wording.visits import named_half_day


def cancelled(site: Site, booking: Booking, was_booked: bool) -> Words:
    """That a booking is off; of a confirmed day also how it leaves their calendars."""
    told = {"site": site, "address": site.address}
    text = _("The booking at %(address)s is cancelled") % told
    if booking.day:
        told["when"] = named_half_day(booking.day, booking.half)
        text = _("The booking for %(when)s, at %(address)s, is cancelled") % told
    return Words(
        _("Booking cancelled: %(site)s") % told,
        with_reason(text, booking.closing_note),
        closing=_("The attached file takes the day out of your calendar.") if was_booked else "",
    )


def invitation_subject(business: Business) -> str:
    """The subject of an invitation; its template has the rest."""
    return _("%(business)s invites you to Site readiness") % {"business": business}


def event_summary(site: Site) -> str:
    """What a booked half-day is called in a calendar."""
    return _("Termite treatment: %(site)s") % {"site": site}


def event_description(business: Business) -> str:
    """Who comes, and how the walls have to be."""
    return _("By %(business)s. Keep the walls clean, dry and clear.") % {"business": business.name}

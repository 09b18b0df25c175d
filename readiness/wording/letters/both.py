"""What e-mails and calendar files say to both sides alike, and the invitation."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.models import Booking, Builder, Business, PutOff, Site, User
from readiness.wording.letters.words import Words, as_quoted, with_reason
from readiness.wording.visits import cause_words, named_half_day


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


def put_off(site: Site, one: PutOff, booking: Booking) -> Words:
    """That a booked day is put off and why, what is offered instead, and how it leaves calendars.

    `booking` as it stands when the e-mail is written: another day may be booked by then.
    """
    told = {"site": site, "address": site.address, "when": named_half_day(one.day, one.half)}
    text = _("The treatment at %(address)s on %(when)s is put off") % told
    text = f"{text}: {cause_words(one.cause)}. {_instead(booking)}"
    return Words(
        _("Put off: %(site)s, %(when)s") % told,
        text,
        [as_quoted(one.note)] if one.note.strip() else [],
        closing=_("The attached file takes the day out of your calendar."),
        link_label=_("See the booking"),
    )


def _instead(booking: Booking) -> str:
    if not booking.is_open:
        return ""
    if booking.day is None:
        return _("No other day is offered yet.")
    told = {"when": named_half_day(booking.day, booking.half)}
    if booking.state == Booking.State.OFFERED:
        return _("Offered instead: %(when)s. It is booked once the builder accepts it.") % told
    return _("Booked instead: %(when)s.") % told


def account_changed(change: str, by: User, person: User, builder: Builder | None = None) -> Words:
    """What an owner or the office changed about an account or the settings, and who did it.

    With a `builder` it is about what the account is for that one alone.
    """
    told = {"by": by, "person": person, "builder": builder}
    text = {
        "owner": _("%(by)s made %(person)s an owner of the business's account."),
        "not_owner": _("%(by)s removed %(person)s as an owner of the business's account."),
        "switched_on": _("%(by)s switched on the account of %(person)s."),
        "switched_off": _("%(by)s switched off the account of %(person)s."),
        "rights": _("%(by)s changed what %(person)s may see and do."),
        "licence": _("%(by)s changed the licence number of %(person)s."),
        "second_factor_reset": _("%(by)s reset the second factor of %(person)s."),
        "removed": _("%(by)s removed the details of a person."),
        "business": _("%(by)s changed the business's settings."),
        "rule_values": _("%(by)s changed the rule values."),
        "days_off": _("%(by)s changed the local days off."),
    }[change]
    text = _for_a_builder().get(change, text) if builder else text
    about_settings = change in ("business", "rule_values", "days_off")
    return Words(
        _("Settings changed") if about_settings else _("Account changed"),
        text % told,
        closing=_("The Record keeps the old and the new value. Not right? Tell an owner at once."),
        link_label=_("Open Site readiness"),
    )


def _for_a_builder() -> dict[str, str]:
    return {
        "switched_on": _("%(by)s let %(person)s sign in for %(builder)s."),
        "switched_off": _("%(by)s stopped %(person)s from signing in for %(builder)s."),
        "rights": _("%(by)s changed what %(person)s may see and do for %(builder)s."),
    }


def invitation_subject(business: Business) -> str:
    """The subject of an invitation; its template has the rest."""
    return _("%(business)s invites you to Site readiness") % {"business": business}


def event_summary(site: Site) -> str:
    """What a booked half-day is called in a calendar."""
    return _("Termite treatment: %(site)s") % {"site": site}


def event_description(business: Business, site: Site) -> str:
    """Who comes and where to ring, the builder's job number, and how the walls have to be."""
    told = {"business": business.name, "phone": business.phone, "job": site.job_number}
    by = _("By %(business)s, phone %(phone)s.") if business.phone else _("By %(business)s.")
    parts = [by % told]
    if site.job_number:
        parts.append(_("Job %(job)s.") % told)
    return " ".join([*parts, _("Keep the walls clean, dry and clear.")])


def checkpoint(size: int, root: str) -> str:
    """What the checkpoint at the foot of an e-mail is for; `root` is its fingerprint in hex."""
    return _(
        "Keep this e-mail: it can show whether what our record says so far was changed later. "
        "Checkpoint of %(size)s entries, fingerprint %(root)s"
    ) % {"size": f"{size:,}", "root": root}

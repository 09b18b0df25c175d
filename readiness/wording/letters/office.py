"""What e-mails say to the office."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.models import (
    Booking,
    Business,
    DefectItem,
    ReadinessConfirmation,
    Referral,
    ReferralDecision,
    Site,
)
from readiness.rules.vocabulary import GO_ON
from readiness.wording import dates
from readiness.wording.letters.words import (
    Words,
    as_quoted,
    decided,
    found_where,
    item_named,
    with_reason,
)
from readiness.wording.referrals import technician, to_call
from readiness.wording.visits import named_half_day

# Fixes and disputes


def reported_fixed(site: Site, reasons: Mapping[DefectItem, str]) -> Words:
    """What the builder reported fixed."""
    count = len(reasons)
    told = {"count": count, "site": site, "address": site.address, "builder": site.builder}
    return Words(
        ngettext(
            "%(count)d item reported fixed: %(site)s",
            "%(count)d items reported fixed: %(site)s",
            count,
        ) % told,
        ngettext(
            "%(builder)s reported %(count)d item fixed at %(address)s:",
            "%(builder)s reported %(count)d items fixed at %(address)s:",
            count,
        ) % told,
        [item_named(item) for item in reasons],
        link_label=_("Review the fixes"),
    )  # fmt: skip


def disputed(site: Site, reasons: Mapping[DefectItem, str]) -> Words:
    """What the builder disputes, and why."""
    count = len(reasons)
    told = {"count": count, "site": site, "address": site.address, "builder": site.builder}
    return Words(
        ngettext(
            "%(count)d item disputed: %(site)s", "%(count)d items disputed: %(site)s", count
        ) % told,
        ngettext(
            "%(builder)s disputes %(count)d item at %(address)s:",
            "%(builder)s disputes %(count)d items at %(address)s:",
            count,
        ) % told,
        [item_named(item, reason) for item, reason in reasons.items()],
        link_label=_("Look at it and decide"),
    )  # fmt: skip


# Confirming


def confirmed(site: Site, confirmation: ReadinessConfirmation) -> Words:
    """Who confirmed readiness, on which report, and until when that is valid."""
    return Words(
        _("Confirmed ready: %(site)s") % {"site": site},
        _(
            "%(name)s (%(position)s) confirmed that %(address)s is ready, on report %(number)d. "
            "The confirmation runs out at %(moment)s."
        )
        % {
            "name": confirmation.name,
            "position": confirmation.position,
            "address": site.address,
            "number": confirmation.report.number,
            "moment": dates.moment(confirmation.valid_until.astimezone(site.zone)),
        },
        link_label=_("Offer a day"),
    )


def confirmation_withdrawn(site: Site, confirmation: ReadinessConfirmation) -> Words:
    """That readiness is confirmed no more."""
    text = _("The readiness confirmation of %(address)s was withdrawn") % {"address": site.address}
    return Words(
        _("Confirmation withdrawn: %(site)s") % {"site": site},
        with_reason(text, confirmation.withdrawn_reason),
        closing=_("The builder has to confirm again."),
    )


# Live termites


def termites_found(referral: Referral, business: Business) -> Words:
    """That live termites were found, and that a licensed technician has to decide."""
    site, who = referral.site, technician(business.technician_name)
    return Words(
        _("Live termites or mud tubes: %(site)s") % {"site": site},
        _(
            "Live termites or mud tubes were found at %(address)s. Nothing can be booked there "
            "until a licensed technician has decided."
        )
        % {"address": site.address},
        [
            found_where(referral),
            _("Do not disturb, spray or clear anything. Look at the whole building."),
            _("To call: %(technician)s.") % {"technician": to_call(who, business.technician_phone)},
        ],
        as_quoted(referral.note),
        _("See and decide"),
    )


def termites_decided(decision: ReferralDecision) -> Words:
    """What the technician decided about live termites."""
    site = decision.referral.site
    open_again = decision.outcome in GO_ON
    return Words(
        _("Live termites, decided: %(site)s") % {"site": site},
        _("About the live termites or mud tubes at %(address)s:") % {"address": site.address},
        [decided(decision), found_where(decision.referral)],
        _("Days can be booked there again.") if open_again else _("Nothing can be booked there."),
    )


# Booking


def day_asked_for(site: Site, booking: Booking) -> Words:
    """Which half-days the builder asks for."""
    told = {"site": site, "address": site.address, "builder": site.builder}
    return Words(
        _("%(builder)s asks for a day: %(site)s") % told,
        _("%(builder)s asks for a day at %(address)s. These half-days suit:") % told,
        [
            named_half_day(date.fromisoformat(wish["date"]), wish["half"])
            for wish in booking.preferences
        ],
        as_quoted(booking.note),
        _("Offer a day"),
    )


def day_turned_down(site: Site, booking: Booking) -> Words:
    """That the builder can't take the day we offered."""
    return Words(
        _("Day turned down: %(site)s") % {"site": site},
        _("%(builder)s turned down the day we offered for %(address)s.")
        % {"builder": site.builder, "address": site.address},
        closing=as_quoted(booking.note),
        link_label=_("Offer another day"),
    )


def booked(site: Site, booking: Booking) -> Words:
    """The day that is booked."""
    told = {"site": site, "address": site.address}
    told["when"] = named_half_day(booking.day, booking.half)
    return Words(
        _("Booked for %(when)s: %(site)s") % told,
        _("The treatment at %(address)s is booked for %(when)s.") % told,
        closing=_("The attached file puts the day into your calendar."),
    )

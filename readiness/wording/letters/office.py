"""What e-mails say to the office."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.models import Booking, DefectItem, ReadinessConfirmation, Site
from readiness.wording import dates
from readiness.wording.letters.words import Words, as_quoted, item_named, with_reason
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

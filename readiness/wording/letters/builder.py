"""What e-mails say to the builder's people."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.models import (
    Booking,
    BuilderContact,
    Business,
    DefectItem,
    ReadinessConfirmation,
    Referral,
    ReferralDecision,
    Site,
)
from readiness.rules.site.assessment import Assessment
from readiness.rules.vocabulary import GO_ON
from readiness.rules.words import listed
from readiness.wording import dates
from readiness.wording.builder.reasons import BUILDER, nothing_to_fix_there
from readiness.wording.cautions import of_item
from readiness.wording.due import things
from readiness.wording.letters.words import (
    Words,
    as_quoted,
    decided,
    found_where,
    item_named,
    item_to_fix,
    with_reason,
)
from readiness.wording.people import rights
from readiness.wording.referrals import leave_alone, our_technician, to_call
from readiness.wording.signing import signed_how
from readiness.wording.visits import named_half_day

# The report


@dataclass(frozen=True)
class Report:
    """What the e-mail about a report is made from.

    `left` says what is to fix, "" for nothing; `checked` counts what we look at first. `treated_on`
    is None unless the house is treated; `termites` says that live ones keep the site closed.
    """

    site: Site
    number: int
    to_fix: Sequence[DefectItem]
    left: str
    checked: int
    treated_on: date | None = None
    termites: str = ""


def report_issued(report: Report) -> Words:
    """What a report found, and what the builder does next; live termites come first."""
    if report.termites and not report.to_fix:
        subject = _("Report %(number)d: %(site)s") % {"number": report.number, "site": report.site}
        return Words(subject, report.termites)
    words = _without_termites(report)
    words.opening = f"{report.termites} {words.opening}".strip()
    return words


def _without_termites(report: Report) -> Words:
    if report.to_fix:
        return _things_to_fix(report)
    return _nothing_for_them(report) if report.checked else _nothing_to_fix(report)


def papers_are_late() -> str:
    """That the e-mail goes before the papers are there."""
    return _("Some of the papers are not made yet. The site's page has everything.")


def _things_to_fix(report: Report) -> Words:
    count = len(report.to_fix)
    subject = ngettext(
        "%(count)d thing to fix: %(site)s", "%(count)d things to fix: %(site)s", count
    )
    told = {"address": report.site.address, "left": report.left, "number": report.number}
    if report.treated_on is None:
        found = _("%(address)s is not ready: %(left)s. Report %(number)d has the details.") % told
        next_step = (
            f"{_mark_fixed(count)} {_('Then confirm that the site is ready and choose a day.')}"
        )
    else:
        found = f"{_treated(report)} " + _(
            "Found since: %(left)s. Report %(number)d has the details."
        ) % told  # fmt: skip
        next_step = _mark_fixed(count)
    return Words(
        subject % {"count": count, "site": report.site},
        f"{found} {_checking_more(report.checked)}".strip(),
        [*map(item_to_fix, report.to_fix), *_take_care(report.to_fix)],
        next_step,
        _("See what to fix"),
    )


def _take_care(items: Iterable[DefectItem]) -> list[str]:
    """What is said beside the fixes of these items, each once, on one line."""
    said = dict.fromkeys(words for item in items for words in of_item(item))
    return [_("Take care. %(cautions)s") % {"cautions": " ".join(said)}] if said else []


def _mark_fixed(count: int) -> str:
    return ngettext(
        "Mark it as fixed, with a photo.", "Mark each one as fixed, with a photo.", count
    )


def _nothing_for_them(report: Report) -> Words:
    nothing = _(
        "Report %(number)d on %(address)s: nothing for you to fix right now. We are checking "
        "%(things)s."
    ) % {
        "number": report.number,
        "address": report.site.address,
        "things": things(report.checked),
    }
    before = f"{_treated(report)} " if report.treated_on else ""
    subject = _("Report %(number)d: %(site)s") % {"number": report.number, "site": report.site}
    return Words(subject, f"{before}{nothing}")


def _nothing_to_fix(report: Report) -> Words:
    subject = _("Nothing to fix: %(site)s") % {"site": report.site}
    told = {"number": report.number, "address": report.site.address}
    if report.treated_on is None:
        text = _(
            "Report %(number)d on %(address)s: nothing to fix before we can book. Please confirm "
            "that the site is ready."
        )
        return Words(subject, text % told, link_label=_("Confirm readiness"))
    found = _("Report %(number)d found nothing to fix.") % told
    return Words(subject, f"{_treated(report)} {found}")


def _treated(report: Report) -> str:
    """It stays treated, whatever a later report found."""
    return _("%(address)s was treated on %(day)s.") % {
        "address": report.site.address,
        "day": dates.long_day(report.treated_on),
    }


def _checking_more(count: int) -> str:
    return _("We are checking %(count)d more.") % {"count": count} if count else ""


# Fixes and disputes


def accepted(site: Site, reasons: Mapping[DefectItem, str]) -> Words:
    """Which fixes we accepted."""
    count = len(reasons)
    told = {"count": count, "site": site, "address": site.address}
    return Words(
        ngettext(
            "%(count)d item accepted: %(site)s", "%(count)d items accepted: %(site)s", count
        ) % told,
        ngettext(
            "We accepted %(count)d item at %(address)s:",
            "We accepted %(count)d items at %(address)s:",
            count,
        ) % told,
        [item_named(item) for item in reasons],
    )  # fmt: skip


def sent_back(site: Site, reasons: Mapping[DefectItem, str]) -> Words:
    """Which fixes we sent back, and why."""
    count = len(reasons)
    told = {"count": count, "site": site, "address": site.address}
    return Words(
        ngettext(
            "%(count)d item sent back: %(site)s", "%(count)d items sent back: %(site)s", count
        ) % told,
        ngettext(
            "We sent back %(count)d item at %(address)s. It still has to be fixed:",
            "We sent back %(count)d items at %(address)s. They still have to be fixed:",
            count,
        ) % told,
        [item_named(item, reason) for item, reason in reasons.items()],
        link_label=_("See what to fix"),
    )  # fmt: skip


def dispute_decided(site: Site, items: Iterable[DefectItem]) -> Words:
    """What we decided about each item that the builder disputes, and why."""
    return Words(
        _("Dispute decided: %(site)s") % {"site": site},
        _("We decided what you disputed at %(address)s:") % {"address": site.address},
        [_decided(item) for item in items],
    )


def _decided(item: DefectItem) -> str:
    stands = item.decision == DefectItem.Decision.STANDS
    text = (
        _("%(number)d. %(kind)s: it stands.")
        if stands
        else _("%(number)d. %(kind)s: item withdrawn, no action needed.")
    )
    said = text % {"number": item.number, "kind": item.kind_entry.name}
    return f"{said} {as_quoted(item.decision_reason)}".strip()


def account_added(contact: BuilderContact) -> Words:
    """Who can sign in for them from now on, and what that person may do."""
    told = {
        "person": contact.user.name or contact.user.email,
        "address": contact.user.email,
        "builder": contact.builder,
        "rights": rights(contact),
    }
    return Words(
        _("New account: %(person)s") % told,
        _("%(person)s (%(address)s) can now sign in for %(builder)s. %(rights)s") % told,
        closing=_("You don't know this person? Tell us, and we switch the account off."),
        link_label=_("See your people"),
    )


def signed(site: Site, confirmation: ReadinessConfirmation) -> Words:
    """Who signed for them, from which account, and how that person showed who they are."""
    return Words(
        _("Signed as ready: %(site)s") % {"site": site},
        _("%(name)s (%(position)s) confirmed that %(address)s is ready, on report %(number)d.")
        % {
            "name": confirmation.name,
            "position": confirmation.position,
            "address": site.address,
            "number": confirmation.report.number,
        },
        [signed_how(confirmation, site.zone)],
        _("Not right? Withdraw the confirmation, then tell us."),
        _("See what was signed"),
    )


def confirmation_withdrawn(site: Site, confirmation: ReadinessConfirmation) -> Words:
    """That readiness is confirmed no more."""
    text = _("The readiness confirmation of %(address)s was withdrawn") % {"address": site.address}
    return Words(
        _("Confirmation withdrawn: %(site)s") % {"site": site},
        with_reason(text, confirmation.withdrawn_reason),
        closing=_("Confirm readiness again when the site is ready."),
    )


# Live termites


def termites_found(referral: Referral, business: Business) -> Words:
    """That live termites were found: nothing is to be disturbed, and nothing for them to fix."""
    site, who = referral.site, our_technician(business.technician_name)
    return Words(
        _("Live termites or mud tubes, do not disturb: %(site)s") % {"site": site},
        _("Live termites or mud tubes were found at %(address)s. %(leave)s Tell everybody on site.")
        % {"address": site.address, "leave": leave_alone()},
        [
            found_where(referral),
            nothing_to_fix_there(),
            _("No day can be booked until then."),
            _("To call: %(technician)s.") % {"technician": to_call(who, business.technician_phone)},
        ],
        link_label=_("See where"),
    )


def termites_decided(decision: ReferralDecision) -> Words:
    """What our technician decided about live termites, and what it means for them."""
    site = decision.referral.site
    if decision.outcome in GO_ON:
        next_step = _("Work can go on there, and days can be booked again.")
    else:
        next_step = f"{leave_alone()} {_('Nothing for you to fix there. No day can be booked.')}"
    return Words(
        _("Live termites, decided: %(site)s") % {"site": site},
        _("About the live termites or mud tubes at %(address)s:") % {"address": site.address},
        [decided(decision), found_where(decision.referral)],
        next_step,
    )


# Booking


def day_offered(site: Site, booking: Booking, assessment: Assessment) -> Words:
    """A day, and what comes before accepting it."""
    offered = _("We can treat %(address)s on %(when)s.") % {
        "address": site.address,
        "when": named_half_day(booking.day, booking.half),
    }
    return Words(
        _("Day offered: %(site)s") % {"site": site},
        f"{offered} {_before_accepting(assessment)}",
        closing=as_quoted(booking.offer_note),
        link_label=_("See the offer"),
    )


def _before_accepting(assessment: Assessment) -> str:
    if assessment.can_book:
        return _("Accept to book.")
    if any(reason.code.is_about_termites for reason in assessment.booking_reasons):
        return _("Live termites were found there since: it can't be accepted now.")
    ours = [reason for reason in assessment.booking_reasons if reason.code.is_for_technician]
    told = [BUILDER.sentence(reason) for reason in ours]
    return " ".join(told if assessment.waits_for_technician else [_theirs_first(assessment), *told])


def _theirs_first(assessment: Assessment) -> str:
    """What the builder does before they accept a day."""
    about_day = [reason for reason in assessment.booking_reasons if reason.code.is_about_day]
    if not assessment.can_confirm:
        return _("The site is not ready yet. Once it is, confirm readiness, then accept to book.")
    if about_day:
        return BUILDER.sentence(about_day[0])
    return _("Confirm readiness first, then accept to book.")


def day_turned_down(site: Site) -> Words:
    """That the day of an offer is off, where the offer itself comes too late."""
    return Words(
        _("Day turned down: %(site)s") % {"site": site},
        _("You turned down the day we offered for %(address)s. We will offer another.")
        % {"address": site.address},
    )


def booked(site: Site, booking: Booking) -> Words:
    """The day that is booked, and what to do until then."""
    told = {"site": site, "address": site.address}
    told["when"] = named_half_day(booking.day, booking.half)
    return Words(
        _("Booked for %(when)s: %(site)s") % told,
        _(
            "The treatment at %(address)s is booked for %(when)s. Keep the walls clean, dry and "
            "clear until then."
        )
        % told,
        closing=_("The attached file puts the day into your calendar."),
    )


def turned_away(site: Site, booking: Booking, unbooked: Sequence[date]) -> Words:
    """That we came in vain, why, and what comes next; `unbooked` days are no offer."""
    text = _("We came to %(address)s on %(day)s and could not treat it") % {
        "address": site.address,
        "day": dates.long_day(booking.day),
    }
    return Words(
        _("Not ready, not treated: %(site)s") % {"site": site},
        with_reason(text, booking.closing_note),
        [_days_free(unbooked)] if unbooked else [],
        closing=_("Fix this, confirm readiness again, then choose a new day."),
    )


def _days_free(days: Sequence[date]) -> str:
    """What is free as the e-mail is written may be taken when it is read."""
    named = listed([dates.long_day(day) for day in days])
    return _("Nothing is booked yet on %(days)s.") % {"days": named}


def treated(site: Site, booking: Booking, is_paper_made: bool) -> Words:
    """That the house is treated, and what keeps the treatment working."""
    text = (
        _("We treated %(address)s on %(day)s. The treatment record is with the site's papers.")
        if is_paper_made
        else _(
            "We treated %(address)s on %(day)s. The treatment record joins the site's papers once "
            "it is made."
        )
    )
    return Words(
        _("Treated: %(site)s") % {"site": site},
        text % {"address": site.address, "day": dates.long_day(booking.day)},
        closing=_("Keep soil, paving and fixtures below and clear of the treated band."),
    )

"""What a builder reads about each reason why a site is not ready, and what to do about it."""

from django.utils.translation import gettext as _

from readiness.rules.codes import Code
from readiness.rules.site.assessment import Reason
from readiness.wording import dates
from readiness.wording.reasons import (
    ITEMS,
    LAPSED,
    LEVELS,
    MISSING,
    WET,
    day_past,
    found_at,
    in_vain,
    item_words,
    where,
)
from readiness.wording.referrals import leave_alone
from readiness.wording.saying import Audience, Step, never


def _disputed(reason: Reason) -> str:
    return item_words(reason, _("disputed by you, not decided yet"))


def _live_termites(reason: Reason) -> str:
    return f"{found_at(reason)}. {leave_alone()} {nothing_to_fix_there()}"


def nothing_to_fix_there() -> str:
    """That live termites are no work for the builder."""
    return _("Nothing for you to fix there: our licensed technician decides.")


def _site_stays_closed(reason: Reason) -> str:
    decided = _("Live termites: on %(day)s our technician decided that the site stays closed.")
    return f"{decided % {'day': dates.day(reason.day)}} {leave_alone()}"


def _access_undecided(reason: Reason) -> str:
    return _("Nobody can reach %(where)s. Our technician decides: nothing for you to do.") % {
        "where": where(reason)
    }


def _not_confirmed(reason: Reason) -> str:
    return _("You have not confirmed readiness yet.")


def _turned_away_reason(reason: Reason) -> str:
    return f"{in_vain(reason)} {_('Confirm readiness again, then choose a new day.')}"


def _day_too_late(reason: Reason) -> str:
    return _(
        "Your confirmation of %(confirmed)s covers days up to %(latest)s. Choose a day by then, or "
        "confirm again nearer the day."
    ) % {
        "confirmed": dates.day(reason.confirmed_on),
        "latest": dates.day(reason.latest),
    }


def to_item(item_id) -> str:
    """Behind the address of a site's page: its item, which a long list has to show then."""
    return f"?item={item_id}#item-{item_id}"


def _fix_it(reason: Reason) -> Step:
    return Step(_("Mark as fixed"), "builder:report_fixed", about=reason.item_id, acts=True)


def _see_item(reason: Reason) -> Step:
    return Step(_("See the item"), "builder:site", to_item(reason.item_id))


def _see_wall(reason: Reason) -> Step:
    return Step(_("See the wall"), "builder:site", f"#wall-{reason.run_id}")


def _see_termites(reason: Reason) -> Step:
    return Step(_("See where"), "builder:site", "#termites")


def _confirm(reason: Reason) -> Step:
    return Step(_("Confirm readiness"), "builder:confirm", acts=True)


def _other_day(reason: Reason) -> Step:
    return Step(_("Ask for another day"), "builder:book", "#ask", acts=True)


BUILDER = Audience(
    "builder",
    words={
        **MISSING,
        **ITEMS,
        **WET,
        **LAPSED,
        Code.LIVE_TERMITES: _live_termites,
        Code.SITE_STAYS_CLOSED: _site_stays_closed,
        Code.ACCESS_UNDECIDED: _access_undecided,
        Code.ITEM_DISPUTED: _disputed,
        Code.NOT_CONFIRMED: _not_confirmed,
        Code.TURNED_AWAY: _turned_away_reason,
        Code.DATE_PAST: day_past,
        Code.DATE_TOO_LATE: _day_too_late,
    },
    steps={
        Code.NO_RUNS: None,
        Code.NO_REPORT: None,
        Code.RUN_UNCHECKED: _see_wall,
        Code.LIVE_TERMITES: _see_termites,
        Code.SITE_STAYS_CLOSED: _see_termites,
        Code.ACCESS_UNDECIDED: None,
        Code.ITEM_TO_FIX: _fix_it,
        Code.ITEM_SENT_BACK: _fix_it,
        Code.ITEM_DISPUTED: _see_item,
        Code.WAITING_FOR_REVIEW: _see_item,
        Code.DRYING: _see_item,
        Code.RAIN: None,
        Code.NOT_CONFIRMED: _confirm,
        Code.CONFIRMATION_WITHDRAWN: _confirm,
        Code.CONFIRMATION_SUPERSEDED: _confirm,
        Code.CONFIRMATION_NEW_ITEM: _see_item,
        Code.CONFIRMATION_EXPIRED: _confirm,
        Code.RUN_UNTICKED: _confirm,
        Code.TURNED_AWAY: _confirm,
        Code.DATE_PAST: _other_day,
        Code.DATE_TOO_LATE: _other_day,
    },
    never=never(
        "Notes for the applicator: no page of a builder reads levels, and small items are listed "
        "by themselves.",
        *LEVELS,
        Code.APPLICATOR_WILL_DO,
    ),
)

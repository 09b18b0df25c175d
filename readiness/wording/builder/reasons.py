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
    in_vain,
    item_words,
)
from readiness.wording.saying import Audience, Step, never


def _disputed(reason: Reason) -> str:
    return item_words(reason, _("disputed by you, not decided yet"))


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
    return Step(_("Mark as fixed"), "builder:report_fixed", about=reason.item_id)


def _see_item(reason: Reason) -> Step:
    return Step(_("See the item"), "builder:site", to_item(reason.item_id))


def _see_wall(reason: Reason) -> Step:
    return Step(_("See the wall"), "builder:site", f"#wall-{reason.run_id}")


def _confirm(reason: Reason) -> Step:
    return Step(_("Confirm readiness"), "builder:confirm")


def _other_day(reason: Reason) -> Step:
    return Step(_("Ask for another day"), "builder:book", "#ask")


BUILDER = Audience(
    "builder",
    words={
        **MISSING,
        **ITEMS,
        **WET,
        **LAPSED,
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

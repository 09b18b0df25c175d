"""What papers say: of an issued report as it was frozen, to the builder and to later readers."""

from collections.abc import Mapping

from django.utils.translation import gettext as _

from readiness.rules.codes import Code
from readiness.rules.site.assessment import Reason
from readiness.wording import dates
from readiness.wording.reasons import LEVELS, MISSING, WET, drying, found_at, levels_short, rain
from readiness.wording.saying import Audience, Words, never

_SAID = {Code.NO_RUNS, Code.RUN_UNCHECKED}

# A paper prints a source beside each number that it goes by.
_WITH_SOURCE: Mapping[Code, Words] = {
    Code.DRYING: lambda reason: drying(reason, reason.source),
    Code.RAIN: lambda reason: rain(reason, reason.source),
    Code.LEVELS_SHORT: lambda reason: levels_short(reason, reason.levels.short.source),
}


def _live_termites(reason: Reason) -> str:
    decide = _("Nothing can be booked until a licensed technician has decided.")
    return f"{found_at(reason)}. {decide}"


def _site_stays_closed(reason: Reason) -> str:
    return _(
        "Live termites: a licensed technician decided on %(day)s that the site stays closed."
    ) % {"day": dates.day(reason.day)}


_TERMITES = {
    Code.LIVE_TERMITES: _live_termites,
    Code.SITE_STAYS_CLOSED: _site_stays_closed,
}

PAPER = Audience(
    "paper",
    words={
        **{code: MISSING[code] for code in _SAID},
        **_TERMITES,
        **WET,
        **LEVELS,
        **_WITH_SOURCE,
    },
    # A paper has no buttons: what is to do stands in its words and under each item.
    steps=dict.fromkeys([*_SAID, *_TERMITES, *WET, *LEVELS]),
    never={
        **never("A paper is of an issued report.", Code.NO_REPORT),
        **never(
            "Items are printed one by one, with their fix.",
            Code.ITEM_TO_FIX,
            Code.ITEM_SENT_BACK,
            Code.ITEM_DISPUTED,
            Code.WAITING_FOR_REVIEW,
            Code.APPLICATOR_WILL_DO,
        ),
        **never("Printed among the limits of the treatment.", Code.ACCESS_UNDECIDED),
        **never(
            "A report is printed as it was issued, before anything was confirmed or booked.",
            *(code for code in Code if code.asks_to_confirm or code.is_about_day),
        ),
    },
)


def edition_after_withdrawal() -> str:
    """Why a confirmation's paper is made again, as it prints it."""
    return _("The confirmation was withdrawn.")

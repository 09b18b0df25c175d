"""What papers say: of an issued report as it was frozen, to the builder and to later readers."""

from django.utils.translation import gettext as _

from readiness.rules.codes import Code
from readiness.wording.reasons import LEVELS, MISSING, WET
from readiness.wording.saying import Audience, never

_SAID = {Code.NO_RUNS, Code.RUN_UNCHECKED}

PAPER = Audience(
    "paper",
    words={**{code: MISSING[code] for code in _SAID}, **WET, **LEVELS},
    # A paper has no buttons: what is to do stands in its words and under each item.
    steps=dict.fromkeys([*_SAID, *WET, *LEVELS]),
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
        **never(
            "A report is printed as it was issued, before anything was confirmed or booked.",
            *(code for code in Code if code.asks_to_confirm or code.is_about_day),
        ),
    },
)


def edition_after_withdrawal() -> str:
    """Why a confirmation's paper is made again, as it prints it."""
    return _("The confirmation was withdrawn.")

"""Why an issued item can't be reported fixed, reviewed, disputed or decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.rules.vocabulary import ItemState
from readiness.wording import dates

# Reporting fixed


def fix_of_another_item() -> str:
    return _("This form belongs to another item. Open the item again and send your fix there.")


def fix_was_taken_back(number: int) -> str:
    return _("Your fix for item %(number)d was taken back. Send it again.") % {"number": number}


def fix_was_accepted(number: int) -> str:
    return _("Your fix for item %(number)d was accepted. Nothing is left to do.") % {
        "number": number
    }


def fix_was_sent_back(number: int) -> str:
    return _("Your fix for item %(number)d was sent back. Read why first.") % {"number": number}


def no_photo_of_fix(number: int) -> str:
    return _("Add at least one photo that shows item %(number)d fixed.") % {"number": number}


# Reviewing and disputing


def accepted_before_taking_back(number: int) -> str:
    return _("Item %(number)d was accepted already. Your fix can't be taken back now.") % {
        "number": number
    }


def sent_back_before_taking_back(number: int) -> str:
    return _("Item %(number)d was sent back already. Read why, then send a new fix.") % {
        "number": number
    }


def no_reason_to_send_back() -> str:
    return _("Say what is still wrong, so that it can be fixed.")


def no_reason_to_dispute() -> str:
    return _("Say why you disagree.")


def disputed_already(number: int) -> str:
    return _("Item %(number)d is disputed already. We will decide and tell you.") % {
        "number": number
    }


def not_disputed(number: int) -> str:
    return _("Item %(number)d is not disputed any more. There is nothing to decide.") % {
        "number": number
    }


def no_reason_to_stand() -> str:
    return _("Say why the item stands. The builder reads it.")


# How an item stands


@dataclass(frozen=True)
class _Standing:
    """A state with and without its time, and what follows from it."""

    since: str
    undated: str
    then: str


_STANDS: Mapping[str, _Standing] = {
    ItemState.TO_FIX: _Standing(
        later("Item %(number)d is to fix since %(moment)s."),
        later("Item %(number)d is still to fix."),
        later("There is no fix to review."),
    ),
    ItemState.REPORTED_FIXED: _Standing(
        later("Item %(number)d was reported fixed at %(moment)s."),
        later("Item %(number)d is reported fixed."),
        later("It has to be reviewed next."),
    ),
    ItemState.ACCEPTED: _Standing(
        later("Item %(number)d was accepted at %(moment)s."),
        later("Item %(number)d is accepted."),
        later("Nothing is left to do."),
    ),
    ItemState.SENT_BACK: _Standing(
        later("Item %(number)d was sent back at %(moment)s."),
        later("Item %(number)d is sent back."),
        later("The builder has to fix it."),
    ),
}


def item_stands(number: int, state: str, since: datetime | None) -> str:
    """How an item stands that something else was asked of; `since` is a time at the site."""
    standing = _STANDS[state]
    if since is None:
        text = _(standing.undated) % {"number": number}
    else:
        text = _(standing.since) % {"number": number, "moment": dates.moment(since)}
    return f"{text} {_(standing.then)}"


def not_issued() -> str:
    return _("This report is not issued yet. Issue it first.")


def on_record_only(number: int) -> str:
    return _("Item %(number)d is on record only. Nobody has to fix it.") % {"number": number}


def report_superseded(number: int, report: int) -> str:
    """A later report took the place of `report`, and does not have the item."""
    return _(
        "A later report replaced report %(report)d, and item %(number)d is not in it. "
        "Nothing is left to do."
    ) % {"number": number, "report": report}


def item_carried_on(report: int, later_report: int, later_number: int) -> str:
    """The item goes on in a later report."""
    return _(
        "Report %(later)d replaced report %(report)d. Carry on with item %(number)d there."
    ) % {"later": later_report, "report": report, "number": later_number}  # fmt: skip

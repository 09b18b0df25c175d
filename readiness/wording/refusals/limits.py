"""Why something has to wait until tomorrow: more than one person does in a day."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo

from django.utils.translation import gettext as _

from readiness.wording import dates


def too_many_links(limit: int) -> str:
    return _(
        "You have shared %(limit)d lists in 24 hours, the limit for one person. Use a link that "
        "you shared before, or share this one tomorrow."
    ) % {"limit": limit}


def too_many_fixes_taken_back(limit: int, again: datetime, zone: tzinfo) -> str:
    return _(
        "You marked items here as fixed and undid it %(limit)d times in 24 hours, the limit. You "
        "can mark the next one from %(when)s, or a colleague marks it now."
    ) % {"limit": limit, "when": _when(again, zone)}


def too_many_confirmations(limit: int, again: datetime, zone: tzinfo) -> str:
    return _(
        "You confirmed this site %(limit)d times in 24 hours, the limit. You can confirm again "
        "from %(when)s, or a colleague confirms now."
    ) % {"limit": limit, "when": _when(again, zone)}


def too_many_days_asked_for(limit: int, again: datetime, zone: tzinfo) -> str:
    return _(
        "You asked for days for this site %(limit)d times in 24 hours, the limit. You can ask "
        "again from %(when)s, or a colleague asks now."
    ) % {"limit": limit, "when": _when(again, zone)}


def _when(moment: datetime, zone: tzinfo) -> str:
    """The first full minute that is not too early."""
    return dates.moment((moment + timedelta(seconds=59)).astimezone(zone))


def too_many_invitations(limit: int) -> str:
    return _(
        "You have sent %(limit)d invitations in 24 hours, the limit for one person. Send this one "
        "tomorrow, or ask a colleague to send it."
    ) % {"limit": limit}


def too_many_invitations_to_one(email: str, limit: int) -> str:
    return _(
        "%(email)s was sent %(limit)d invitations in 24 hours, the limit for one address. Check "
        "the address with the person, or send it again tomorrow."
    ) % {"email": email, "limit": limit}

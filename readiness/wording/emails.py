"""Why an e-mail did not go, or does not have to, in words for the person who waits for it.

Each is said behind "Not sent: ", so it begins with a small letter.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum, auto

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.models import User


class Trouble(StrEnum):
    """Why a try to send failed."""

    SILENT = auto()
    BUSY = auto()
    ADDRESS = auto()
    SENDER = auto()
    SETTING = auto()
    REFUSED = auto()
    UNSURE = auto()
    OUTAGE = auto()
    FAULT = auto()


_TROUBLES: Mapping[Trouble, str] = {
    Trouble.SILENT: later("the mail server does not answer."),
    Trouble.BUSY: later("the mail server is busy and asks us to try later."),
    Trouble.ADDRESS: later("the mail server does not take this address. Check it."),
    Trouble.SENDER: later(
        "the mail server does not take e-mails from this portal's address. Whoever runs the portal "
        "has to check DEFAULT_FROM_EMAIL."
    ),
    Trouble.SETTING: later(
        "the portal can't sign in to its mail server. Whoever runs the portal has to check "
        "EMAIL_URL."
    ),
    Trouble.REFUSED: later("the mail server would not take it. The portal's log says why."),
    Trouble.UNSURE: later(
        "the mail server broke off without an answer. We don't know whether the e-mail went."
    ),
    Trouble.OUTAGE: later("the portal's database or file store did not answer."),
    Trouble.FAULT: later("a fault in the portal. The portal's log says what it is."),
}


def trouble(code: Trouble) -> str:
    """ "the mail server does not answer."."""
    return _(_TROUBLES[code])


def cannot_sign_in(person: User) -> str:
    """That this person gets no e-mails any more."""
    return _("%(person)s can't sign in any more.") % {"person": person}


def cannot_see_site(person: User) -> str:
    """That the site was closed to this person meanwhile."""
    return _("%(person)s can't see this site any more.") % {"person": person}


def invitation_closed() -> str:
    """That the link of an invitation works no more."""
    return _("the invitation was used or cancelled, or it expired.")


def invitation_replaced() -> str:
    """That another e-mail is about the same invitation."""
    return _("a newer invitation replaced it.")

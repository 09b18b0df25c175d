"""How the security log reads to an owner: who did what to whom, and why it did not go."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

from readiness.models import SecurityEvent, SecurityKind
from readiness.rules.words import listed

K = SecurityKind


@dataclass(frozen=True)
class Line:
    """An event as a person reads it."""

    at: datetime
    who: str
    what: str
    whom: str
    details: str
    is_bad: bool


WORDS: Mapping[str, str] = {
    K.SIGNED_IN: later("Signed in"),
    K.SIGNED_OUT: later("Signed out"),
    K.SIGN_IN_FAILED: later("Could not sign in"),
    K.PROVED_AGAIN: later("Confirmed who they are"),
    K.CODE_SENT: later("Was e-mailed a sign-in code"),
    K.CODE_NOT_SENT: later("Could not be e-mailed: the mail server did not answer"),
    K.STRANGER_ASKED: later("Tried to sign in with an address that cannot sign in this way"),
    K.LINK_SENT: later("Was e-mailed a link for a new password"),
    K.PASSWORD_CHANGED: later("Changed the password"),
    K.FACTOR_ADDED: later("Added a second factor"),
    K.FACTOR_REMOVED: later("Removed a second factor"),
    K.CODES_RENEWED: later("Made new recovery codes"),
    K.FACTORS_RESET: later("Reset the second factor"),
    K.REFUSED: later("Was refused a page"),
    K.TOO_MANY: later("Was stopped after too many tries"),
    K.INVITED: later("Sent an invitation"),
    K.INVITATION_CANCELLED: later("Cancelled an invitation"),
    K.INVITATION_ACCEPTED: later("Accepted an invitation"),
    K.RIGHTS_CHANGED: later("Changed the sites or the position"),
    K.SWITCHED_ON: later("Switched on"),
    K.SWITCHED_OFF: later("Switched off"),
    K.MADE_OWNER: later("Made an owner"),
    K.NO_LONGER_OWNER: later("Removed as owner"),
    K.LICENCE_SET: later("Changed the licence number"),
    K.SESSIONS_ENDED: later("Signed out on every device"),
    K.PERSON_REMOVED: later("Removed the details"),
    K.SETTINGS_CHANGED: later("Changed the business settings"),
    K.RULES_CHANGED: later("Changed rule values"),
    K.DAYS_OFF_CHANGED: later("Changed the local days off"),
    K.EXPORTED: later("Exported a site"),
    K.IMPORTED: later("Imported a site"),
}

BAD: frozenset[str] = frozenset(
    {K.SIGN_IN_FAILED, K.CODE_NOT_SENT, K.STRANGER_ASKED, K.REFUSED, K.TOO_MANY}
)

GROUPS: Mapping[str, tuple[str, frozenset[str]]] = {
    "ways_in": (
        later("Signing in"),
        frozenset(
            {
                K.SIGNED_IN, K.SIGNED_OUT, K.SIGN_IN_FAILED, K.PROVED_AGAIN, K.CODE_SENT,
                K.CODE_NOT_SENT, K.STRANGER_ASKED, K.TOO_MANY, K.INVITATION_ACCEPTED,
                K.SESSIONS_ENDED,
            }
        ),
    ),
    "refused": (later("Failed and refused"), BAD),
    "changes": (
        later("People and settings"),
        frozenset(WORDS)
        - BAD
        - {K.SIGNED_IN, K.SIGNED_OUT, K.PROVED_AGAIN, K.CODE_SENT},
    ),
}  # fmt: skip
"""What can be shown alone, by what the address says."""

METHODS: Mapping[str, str] = {
    "password": later("password"),
    "code": later("e-mailed code"),
    "mfa": later("second factor"),
    "totp": later("code of an app"),
    "webauthn": later("passkey"),
    "recovery_codes": later("recovery code"),
    "invitation": later("invitation"),
    "demo": later("link of the demo"),
}


def group_name(group: str) -> str:
    """ "Signing in"."""
    return _(GROUPS[group][0])


def line(event: SecurityEvent, name_of: Callable[[object], str]) -> Line:
    """The event in words; `name_of` names an account, site or invitation by its id, "" for none."""
    who = name_of(event.account) or event.email or _("Somebody")
    words = WORDS.get(event.kind)  # a later version may have noted more
    place = _("from %(address)s") % {"address": event.address} if event.address else ""
    details = (*_details(event.details, name_of), place, event.device)
    return Line(
        at=event.at,
        who=_("Whoever runs the portal") if _is_by_command(event) else who,
        what=_(words) if words else event.kind.replace("_", " ").capitalize(),
        whom=name_of(event.about) if event.about != event.account else "",
        details=", ".join(filter(None, details)),
        is_bad=event.kind in BAD,
    )


def _is_by_command(event: SecurityEvent) -> bool:
    """Done on the machine itself, not through a page."""
    return event.account is None and not event.email and event.address is None


def _details(details: dict, name_of: Callable[[object], str]) -> list[str]:
    methods = [_(METHODS[name]) for name in details.get("methods", ()) if name in METHODS]
    said = [_("by %(means)s") % {"means": listed(methods)}] if methods else []
    if "path" in details:
        said.append(str(details["path"]))
    if "fields" in details:
        said.append(listed(str(name).replace("_", " ") for name in details["fields"]))
    said += [name_of(details[about]) for about in ("site", "invitation") if about in details]
    if "sites" in details:
        said.append(_sites(details["sites"]))
    return said


def _sites(count: int | None) -> str:
    if count is None:
        return _("all sites")
    return ngettext("%(count)d site", "%(count)d sites", count) % {"count": count}

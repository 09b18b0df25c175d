"""What both sides read about a builder's accounts: rights, who vouches, and what happened."""

from __future__ import annotations

from datetime import tzinfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.models import BuilderContact, Invitation, RecordEntry
from readiness.models.verbs import Verb
from readiness.wording import dates

Role, Vouched = BuilderContact.Role, BuilderContact.Vouched


def role(code: str) -> str:
    """What somebody may do."""
    names: dict[str, str] = {
        Role.ADMINISTRATOR: _("Administrator"),
        Role.SUPERVISOR: _("Supervisor"),
        Role.READER: _("Read only"),
    }
    return names.get(code, "")


def rights(contact: BuilderContact) -> str:
    """ "Supervisor. Sees all sites."."""
    sees = _sees("all" if contact.all_sites else list(contact.sites.all()))
    return _("%(role)s. Sees %(sites)s.") % {"role": role(contact.role), "sites": sees}


def _sees(sites: object) -> str:
    if not isinstance(sites, list):
        return _("all sites")
    text = ngettext("%(count)d site only", "%(count)d sites only", len(sites))
    return text % {"count": len(sites)}


def vouched(contact: BuilderContact) -> str:
    """Whether they may sign, and why."""
    if contact.role == Role.READER:
        return _("Can look, not act.")
    if contact.vouched_how == Vouched.ADDRESS:
        return _("Can sign: uses their own e-mail address.")
    if contact.vouched_how:
        return _("Can sign: %(person)s vouched for the account.") % {"person": contact.vouched_by}
    return _("Can't sign yet: nobody has vouched for this account.")


def line(
    entry: RecordEntry, contact: BuilderContact, invitation: Invitation | None, zone: tzinfo
) -> str:
    """One thing that happened, with who and when; of an entry of the business's own Record."""
    text = _happened(entry, contact, invitation)
    when = dates.moment(entry.at.astimezone(zone))
    return _("%(what)s, %(when)s") % {"what": text, "when": when}


def _happened(entry: RecordEntry, contact: BuilderContact, invitation: Invitation | None) -> str:
    data = entry.data
    told = {
        "who": str(entry.actor) if entry.actor else _("The portal"),
        "person": str(contact),
        "address": invitation.email if invitation else _("an address that was removed"),
        "rights": given(data.get("rights")),
    }
    texts = {
        Verb.PERSON_INVITED: _("%(who)s invited %(address)s (%(rights)s)")
        if told["rights"]
        else _("%(who)s invited %(address)s"),
        Verb.INVITATION_RENEWED: _("%(who)s sent the invitation to %(address)s again"),
        Verb.INVITATION_CANCELLED: _("%(who)s cancelled the invitation to %(address)s"),
        Verb.INVITATION_ACCEPTED: _("%(person)s accepted the invitation to %(address)s"),
        Verb.ACCESS_CHANGED: _("%(who)s changed the rights: %(rights)s")
        if told["rights"]
        else _("%(who)s changed the rights"),
        Verb.SWITCHED_ON: _("%(who)s switched the account on"),
        Verb.SWITCHED_OFF: _("%(who)s switched the account off"),
        Verb.PERSON_REMOVED: _("%(who)s removed the person's details"),
        Verb.ACCOUNT_VOUCHED: _("%(person)s used a code sent to their own address")
        if data.get("how") == Vouched.ADDRESS
        else _("%(who)s vouched for the account"),
    }
    return texts[Verb(entry.verb)] % told


def given(rights: object) -> str:
    """Rights as an entry keeps them: a role, and "all" or the sites."""
    if not isinstance(rights, dict):
        return ""
    return f"{role(rights.get('role', ''))}, {_sees(rights.get('sees'))}"

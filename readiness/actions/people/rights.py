"""What people may do once they are in: rights, switching on and off, sessions, owners, licences."""

from collections.abc import Iterable

from allauth.usersessions.models import UserSession
from django.db import transaction
from django.db.models import F

from readiness import security
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator, require_owner
from readiness.evidence.record import append
from readiness.messages import outbox
from readiness.messages.changes import Change
from readiness.models import Builder, BuilderContact, Invitation, SecurityKind, Site, User
from readiness.models.verbs import Verb
from readiness.wording.refusals import people as refusals


def named(contact: BuilderContact) -> dict:
    """A membership in an entry's data: whose, and in which builder."""
    return {"person": str(contact.user_id), "builder": str(contact.builder_id)}


@transaction.atomic
def change_contact(
    actor: User,
    contact: BuilderContact,
    *,
    position: str,
    sites: Iterable[Site] | None,
    role: str | None = None,
) -> BuilderContact:
    """Change a contact's position, role and the sites they see (`None`: all of the builder's)."""
    require_applicator(actor)
    chosen = list(sites) if sites is not None else []
    check_sites(contact.builder, chosen)
    before = rights_of(contact)
    contact.position, contact.all_sites = position, sites is None
    contact.role = role or contact.role
    contact.save(update_fields=["position", "all_sites", "role"])
    contact.sites.set(chosen)
    after = rights_of(contact)
    data: dict = named(contact)
    if before != after:
        data |= {"rights_before": before, "rights": after}
        outbox.account_changed(Change.RIGHTS, actor, contact.user, contact.builder)
    append(None, actor, Verb.ACCESS_CHANGED, data, rows=[contact])
    seen = None if sites is None else len(chosen)
    security.note(SecurityKind.RIGHTS_CHANGED, actor, about=contact.user, sites=seen)
    return contact


def rights_of(person: BuilderContact | Invitation) -> dict:
    """What a contact, or who is invited, may do and see, as an entry keeps it: by codes and ids."""
    role = person.contact_role if isinstance(person, Invitation) else person.role
    sites = sorted(str(pk) for pk in person.sites.values_list("pk", flat=True))
    return {"role": str(role), "sees": "all" if person.all_sites else sites}


@transaction.atomic
def switch_contact(actor: User, contact: BuilderContact, *, on: bool) -> BuilderContact:
    """Let a contact sign in for their builder (`on`) or not.

    Off takes effect at once. The account itself stays on while it signs in for another builder;
    with the last one its sessions end for good.
    """
    require_applicator(actor)
    is_new = on and not contact.is_active
    contact.is_active = on
    contact.save(update_fields=["is_active"])
    person = contact.user
    person.role = User.Role.BUILDER  # an imported person has none until now
    person.is_active = on or person.memberships.filter(is_active=True).exists()
    person.save(update_fields=["is_active", "role"])
    _note_switch(actor, person, on, contact)
    if is_new:
        outbox.account_added(contact)
    if not person.is_active:
        end_sessions(person)
    return contact


def _note_switch(
    actor: User, person: User, on: bool, contact: BuilderContact | None = None
) -> None:
    verb, change, kind = SWITCHED[on]
    if contact is None:
        append(None, actor, verb, {"person": str(person.pk)}, rows=[person])
    else:
        append(None, actor, verb, named(contact), rows=[person, contact])
    outbox.account_changed(change, actor, person, contact.builder if contact else None)
    security.note(kind, actor, about=person)


SWITCHED = {
    True: (Verb.SWITCHED_ON, Change.SWITCHED_ON, SecurityKind.SWITCHED_ON),
    False: (Verb.SWITCHED_OFF, Change.SWITCHED_OFF, SecurityKind.SWITCHED_OFF),
}
"""In the Record, by e-mail, and in the security log."""


@transaction.atomic
def switch_staff(actor: User, colleague: User, *, on: bool) -> User:
    """Let a colleague sign in (`on`) or not; off ends their sessions for good.

    Owners only, and nobody switches themselves off.
    """
    require_owner(actor)
    if colleague.pk == actor.pk:
        raise Refused(refusals.switching_yourself_off())
    if not colleague.is_applicator:
        raise Refused(refusals.not_a_colleague())
    colleague.is_active = on
    colleague.save(update_fields=["is_active"])
    _note_switch(actor, colleague, on)
    if not on:
        end_sessions(colleague)
    return colleague


@transaction.atomic
def sign_out_everywhere(actor: User, person: User) -> User:
    """End every session of somebody else, who can sign in again: a lost phone. Owners only."""
    require_owner(actor)
    end_sessions(person)
    security.note(SecurityKind.SESSIONS_ENDED, actor, about=person)
    return person


def end_sessions(user: User) -> None:
    """End every session of a person: none of their cookies works again, whatever comes later."""
    for session in UserSession.objects.filter(user=user):
        session.end()
    User.objects.filter(pk=user.pk).update(session_epoch=F("session_epoch") + 1)
    user.refresh_from_db(fields=["session_epoch"])


@transaction.atomic
def change_ownership(actor: User, colleague: User, *, owner: bool) -> User:
    """Make a colleague an owner, or not any more. There is always at least one active owner."""
    require_owner(actor)
    if not colleague.is_applicator:
        raise Refused(refusals.owner_must_be_staff())
    owners = User.objects.select_for_update().filter(is_owner=True, is_active=True)
    if not owner and not owners.exclude(pk=colleague.pk).exists():
        raise Refused(refusals.last_owner())
    colleague.is_owner = owner
    colleague.save(update_fields=["is_owner"])
    data = {"person": str(colleague.pk), "owner": owner}
    append(None, actor, Verb.OWNERSHIP_CHANGED, data, rows=[colleague])
    outbox.account_changed(Change.OWNER if owner else Change.NOT_OWNER, actor, colleague)
    kind = SecurityKind.MADE_OWNER if owner else SecurityKind.NO_LONGER_OWNER
    security.note(kind, actor, about=colleague)
    return colleague


@transaction.atomic
def set_licence(actor: User, colleague: User, licence_number: str) -> User:
    """Set the licence number of one of the staff, an owner's own included; empty takes it away.

    Owners only: with a number somebody decides what only a licensed technician may.
    """
    require_owner(actor)
    if not colleague.is_applicator:
        raise Refused(refusals.not_a_colleague())
    before = User.objects.select_for_update().get(pk=colleague.pk).licence_number
    colleague.licence_number = licence_number.strip()
    if colleague.licence_number == before:
        return colleague
    colleague.save(update_fields=["licence_number"])
    data = {"person": str(colleague.pk)}
    said = {"before": before, "after": colleague.licence_number}
    append(None, actor, Verb.LICENCE_SET, data, rows=[colleague], said=said)
    outbox.account_changed(Change.LICENCE, actor, colleague)
    security.note(SecurityKind.LICENCE_SET, actor, about=colleague)
    return colleague


def check_sites(builder: Builder, sites: list[Site]) -> None:
    """Raises Refused for a site of another builder."""
    if any(site.builder_id != builder.pk for site in sites):
        raise Refused(refusals.site_of_another_builder(str(builder)))

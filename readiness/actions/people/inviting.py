"""Letting people in and out: invitations, builder contacts, the applicator's staff.

An invitation works once and for a limited time. It has a link that is shown on the screen once, and
each e-mail about it carries one of its own: the first that is used ends them all. Their tokens are
never stored, only the tokens' SHA-256, so nobody who reads the database can use them.
"""

import secrets
from collections.abc import Iterable
from datetime import timedelta

from allauth.usersessions.models import UserSession
from django.db import transaction
from django.db.models import F, Q

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator, require_owner
from readiness.facts import rule_values
from readiness.messages import outbox, telling
from readiness.messages.invitation_links import Invited, digest_of, open_invitations
from readiness.models import Builder, BuilderContact, Invitation, InvitationLink, Site, User
from readiness.wording import emails
from readiness.wording.refusals import people as refusals


@transaction.atomic
def invite_contact(
    actor: User, builder: Builder, email: str, *, sites: Iterable[Site] | None = None
) -> Invited:
    """Invite a person to sign in for a builder, for all of its sites or only `sites`.

    A new invitation to the same address replaces an open one. Raises Refused when the address
    already signs in, or when a site is another builder's.
    """
    require_applicator(actor)
    email = email.strip().lower()
    _refuse_a_known_address(email, builder)
    chosen = list(sites) if sites is not None else []
    _check_sites(builder, chosen)
    return _invite(
        actor,
        email,
        sites=chosen,
        role=User.Role.BUILDER,
        builder=builder,
        all_sites=sites is None,
    )


@transaction.atomic
def invite_staff(actor: User, email: str) -> Invited:
    """Invite a colleague of the applicator's business. Owners only; raises Refused as above."""
    require_owner(actor)
    email = email.strip().lower()
    _refuse_a_known_address(email, None)
    return _invite(actor, email, role=User.Role.APPLICATOR)


@transaction.atomic
def resend_invitation(actor: User, invitation: Invitation) -> Invited:
    """Send an invitation again with a new link and a new time limit; the old link stops working."""
    _require_inviter(actor, invitation)
    invitation = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if invitation.accepted_at:
        raise Refused(refusals.invitation_used_to_send_again())
    token = secrets.token_urlsafe(32)
    invitation.token_digest = digest_of(token)
    invitation.revoked_at = None
    invitation.expires_at = clock.now() + timedelta(days=valid_days())
    invitation.save()
    invitation.links.all().delete()
    outbox.invitation_made(invitation)
    return Invited(invitation, token)


@transaction.atomic
def revoke_invitation(actor: User, invitation: Invitation) -> Invitation:
    """Make an invitation's link stop working. Doing it twice is doing it once."""
    _require_inviter(actor, invitation)
    invitation = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if invitation.accepted_at:
        raise Refused(refusals.invitation_used_to_cancel())
    if not invitation.revoked_at:
        _take_back(invitation, refusals.mail_invitation_cancelled())
    return invitation


def _take_back(invitation: Invitation, reason: str) -> None:
    invitation.revoked_at = clock.now()
    invitation.save(update_fields=["revoked_at"])
    outbox.drop_invitation(invitation, reason)


def find_invitation(token: str) -> Invitation | None:
    """The invitation that a link's token opens, if it still works. Looking does not use it up."""
    return open_invitations().filter(_opened_by(token)).first()


def _opened_by(token: str) -> Q:
    """The invitation whose shown link, or one of whose e-mailed links, carries the token."""
    digest = digest_of(token)
    emailed = InvitationLink.objects.filter(token_digest=digest).values("invitation")
    return Q(token_digest=digest) | Q(pk__in=emailed)


@transaction.atomic
def accept_invitation(
    token: str,
    *,
    name: str,
    phone: str = "",
    position: str = "",
    licence_number: str = "",
    password: str | None = None,
) -> User:
    """Use an invitation up and return the user that it makes (or switches on again).

    Two people with the same link: the second is refused. Raises Refused for a link that does not
    work any more.
    """
    invitation = (
        Invitation.objects.select_for_update()
        .filter(_opened_by(token), accepted_at=None, revoked_at=None)
        .filter(expires_at__gt=clock.now())
        .first()
    )
    if invitation is None:
        raise Refused(refusals.invitation_expired())
    _refuse_a_known_address(invitation.email, invitation.builder)
    user = User.objects.filter(email=invitation.email).first() or User(email=invitation.email)
    user.role, user.is_active = invitation.role, True
    user.name, user.phone, user.licence_number = name, phone, licence_number
    user.set_password(password)  # None makes it unusable
    user.save()
    if invitation.builder:
        contact = _make_contact(user, invitation, position)
        telling.tell_newcomer(contact, invitation.created_at)
    invitation.accepted_at = clock.now()
    invitation.save(update_fields=["accepted_at"])
    outbox.drop_invitation(invitation, refusals.mail_invitation_used())
    return user


@transaction.atomic
def change_contact(
    actor: User, contact: BuilderContact, *, position: str, sites: Iterable[Site] | None
) -> BuilderContact:
    """Change a contact's position and the sites they see (`None`: all of the builder's)."""
    require_applicator(actor)
    chosen = list(sites) if sites is not None else []
    _check_sites(contact.builder, chosen)
    contact.position, contact.all_sites = position, sites is None
    contact.save(update_fields=["position", "all_sites"])
    contact.sites.set(chosen)
    return contact


@transaction.atomic
def switch_contact(actor: User, contact: BuilderContact, *, on: bool) -> BuilderContact:
    """Let a contact sign in (`on`) or not. Off ends their sessions for good."""
    require_applicator(actor)
    contact.is_active = contact.user.is_active = on
    contact.user.role = User.Role.BUILDER  # an imported person has none until now
    contact.user.save(update_fields=["is_active", "role"])
    contact.save(update_fields=["is_active"])
    if not on:
        end_sessions(contact.user)
    return contact


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
    if not on:
        end_sessions(colleague)
    return colleague


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
    return colleague


def _require_inviter(actor: User, invitation: Invitation) -> None:
    """Staff are invited by owners, contacts by anyone of the applicator's staff."""
    if invitation.role == User.Role.APPLICATOR:
        require_owner(actor)
    else:
        require_applicator(actor)


def _refuse_a_known_address(email: str, builder: Builder | None) -> None:
    user = User.objects.filter(email=email).select_related("builder_contact__builder").first()
    if user is None:
        return
    known = getattr(user, "builder_contact", None)
    if not (user.role or known):
        return  # imported with a site: only a name so far
    if user.is_applicator:
        if builder is None and not user.is_active:
            return
        raise Refused(refusals.address_is_staff(email))
    if builder is None or (known and known.builder_id != builder.pk):
        company = str(known.builder) if known else ""
        raise Refused(refusals.address_elsewhere(email, company))
    if user.is_active and known and known.is_active:
        raise Refused(refusals.address_known(email, str(builder)))


def _check_sites(builder: Builder, sites: list[Site]) -> None:
    if any(site.builder_id != builder.pk for site in sites):
        raise Refused(refusals.site_of_another_builder(str(builder)))


def valid_days() -> int:
    """How many days the link of an invitation works."""
    return int(rule_values()["invitation_valid_days"])


def _invite(actor: User, email: str, *, sites=(), **fields) -> Invited:
    now = clock.now()
    for replaced in open_invitations().filter(email=email):
        _take_back(replaced, emails.invitation_replaced())
    token = secrets.token_urlsafe(32)
    invitation = Invitation.objects.create(
        email=email,
        token_digest=digest_of(token),
        invited_by=actor,
        created_at=now,
        expires_at=now + timedelta(days=valid_days()),
        **fields,
    )
    invitation.sites.set(sites)
    outbox.invitation_made(invitation)
    return Invited(invitation, token)


def _make_contact(user: User, invitation: Invitation, position: str) -> BuilderContact:
    contact, _ = BuilderContact.objects.update_or_create(
        user=user,
        defaults={
            "builder": invitation.builder,
            "position": position,
            "all_sites": invitation.all_sites,
            "is_active": True,
        },
    )
    contact.sites.set(invitation.sites.all())
    return contact

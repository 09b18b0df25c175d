"""Letting people in: invitations of builders' contacts and of the applicator's staff.

An invitation works once and for a limited time. Its links go by e-mail to the invited address and
nowhere else, each e-mail with one of its own: the first that is used ends them all. So who accepts
it reads that mailbox, and nobody who invites somebody can sign in as them.
"""

from collections.abc import Iterable
from datetime import timedelta

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Max, Model, Q

from readiness import clock, security
from readiness.actions import limits
from readiness.actions.errors import Refused
from readiness.actions.people.rights import check_sites, rights_of
from readiness.actions.permission import require_applicator, require_owner
from readiness.evidence.record import append
from readiness.facts import rule_values
from readiness.messages import outbox, telling
from readiness.messages.invitation_links import digest_of, open_invitations, signs_in_already
from readiness.models import (
    Builder,
    BuilderContact,
    Invitation,
    InvitationLink,
    SecurityKind,
    Site,
    User,
)
from readiness.models.verbs import Verb
from readiness.wording import emails
from readiness.wording.refusals import people as refusals

ADMINISTRATOR = BuilderContact.Role.ADMINISTRATOR


@transaction.atomic
def invite_contact(
    actor: User,
    builder: Builder,
    email: str,
    *,
    sites: Iterable[Site] | None = None,
    role: str = BuilderContact.Role.SUPERVISOR,
) -> Invitation:
    """Invite a person to sign in for a builder, for all of its sites or only `sites`.

    The first person of a builder becomes its administrator, whatever the `role`.
    A new invitation to the same address replaces an open one. Raises Refused when the address
    already signs in, or when a site is another builder's.
    """
    require_applicator(actor)
    email = email.strip().lower()
    _refuse_a_known_address(email, builder)
    chosen = list(sites) if sites is not None else []
    check_sites(builder, chosen)
    return _invite(
        actor,
        email,
        sites=chosen,
        role=User.Role.BUILDER,
        builder=builder,
        all_sites=sites is None,
        contact_role=role or BuilderContact.Role.SUPERVISOR,
    )


@transaction.atomic
def invite_staff(actor: User, email: str) -> Invitation:
    """Invite a colleague of the applicator's business. Owners only; raises Refused as above."""
    require_owner(actor)
    email = email.strip().lower()
    _refuse_a_known_address(email, None)
    return _invite(actor, email, role=User.Role.APPLICATOR)


@transaction.atomic
def resend_invitation(actor: User, invitation: Invitation) -> Invitation:
    """Send an invitation again with a new time limit; links that were sent before stop working."""
    _require_inviter(actor, invitation)
    invitation = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if invitation.accepted_at:
        raise Refused(refusals.invitation_used_to_send_again())
    limits.require_room_for_an_invitation(actor, invitation.email)
    invitation.revoked_at = None
    invitation.expires_at = clock.now() + timedelta(days=valid_days())
    invitation.save()
    invitation.links.all().delete()
    _append_invitation(actor, Verb.INVITATION_RENEWED, invitation)
    outbox.invitation_made(invitation)
    security.note(SecurityKind.INVITED, actor, invitation=str(invitation.pk))
    return invitation


@transaction.atomic
def revoke_invitation(actor: User, invitation: Invitation) -> Invitation:
    """Make an invitation's link stop working. Doing it twice is doing it once."""
    _require_inviter(actor, invitation)
    invitation = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if invitation.accepted_at:
        raise Refused(refusals.invitation_used_to_cancel())
    if not invitation.revoked_at:
        _take_back(actor, invitation, refusals.mail_invitation_cancelled())
        security.note(SecurityKind.INVITATION_CANCELLED, actor, invitation=str(invitation.pk))
    return invitation


def _take_back(actor: User, invitation: Invitation, reason: str) -> None:
    invitation.revoked_at = clock.now()
    invitation.save(update_fields=["revoked_at"])
    _append_invitation(actor, Verb.INVITATION_CANCELLED, invitation)
    outbox.drop_invitation(invitation, reason)


def find_invitation(token: str) -> Invitation | None:
    """The invitation that a link's token opens, if it still works. Looking does not use it up."""
    return open_invitations().filter(_opened_by(token)).first()


def _opened_by(token: str) -> Q:
    """The invitation one of whose e-mailed links carries the token."""
    emailed = InvitationLink.objects.filter(token_digest=digest_of(token))
    return Q(pk__in=emailed.values("invitation"))


@transaction.atomic
def accept_invitation(
    token: str,
    *,
    name: str,
    phone: str = "",
    position: str = "",
    password: str | None = None,
) -> User:
    """Use an invitation up and return the user that it makes (or switches on again).

    Two people with the same link: the second is refused. Raises Refused for a link that does not
    work any more, and for an address whose account is in use: see `join_builder`.
    """
    invitation = _to_accept(token)
    if signs_in_already(invitation):
        raise Refused(refusals.sign_in_to_accept(invitation.email))
    user = User.objects.filter(email=invitation.email).first() or User(email=invitation.email)
    user.role, user.is_active = invitation.role, True
    # An owner sets a licence number, whatever an earlier account had.
    user.name, user.phone, user.licence_number = name, phone, ""
    user.set_password(password)  # None makes it unusable
    user.save()
    if invitation.builder is None:
        _use_up(user, invitation, [user])
    else:
        _use_up(user, invitation, [user, _let_in(user, invitation, position)])
    return user


@transaction.atomic
def join_builder(actor: User, token: str, *, position: str = "") -> BuilderContact:
    """Accept an invitation with the account that its address has: one more builder for it.

    The link alone does not do: it is accepted from the account itself. Raises PermissionDenied for
    another account, Refused for a link that does not work any more.
    """
    invitation = _to_accept(token)
    if not (actor.is_active and actor.email == invitation.email and invitation.builder):
        raise PermissionDenied(refusals.invitation_of_another())
    contact = _let_in(actor, invitation, position)
    _use_up(actor, invitation, [contact])
    return contact


def _to_accept(token: str) -> Invitation:
    invitation = (
        Invitation.objects.select_for_update(of=("self",))
        .select_related("builder")
        .filter(_opened_by(token), accepted_at=None, revoked_at=None)
        .filter(expires_at__gt=clock.now())
        .first()
    )
    if invitation is None:
        raise Refused(refusals.invitation_expired())
    _refuse_a_known_address(invitation.email, invitation.builder)
    return invitation


def _let_in(user: User, invitation: Invitation, position: str) -> BuilderContact:
    """What an invitation to a builder does, and whom it tells."""
    contact = _make_contact(user, invitation, position)
    telling.tell_newcomer(contact, invitation.created_at)
    outbox.account_added(contact)
    return contact


def _use_up(user: User, invitation: Invitation, rows: list[Model]) -> None:
    invitation.accepted_at = clock.now()
    invitation.save(update_fields=["accepted_at"])
    data = {**_which(invitation), "person": str(user.pk)}
    append(None, user, Verb.INVITATION_ACCEPTED, data, rows=[invitation, *rows])
    outbox.drop_invitation(invitation, refusals.mail_invitation_used())
    security.note(SecurityKind.INVITATION_ACCEPTED, user, invitation=str(invitation.pk))


def _which(invitation: Invitation) -> dict:
    """An invitation in an entry's data, with the builder that it is for."""
    data = {"invitation": str(invitation.pk)}
    return data | ({"builder": str(invitation.builder_id)} if invitation.builder_id else {})


def _require_inviter(actor: User, invitation: Invitation) -> None:
    """Staff are invited by owners, contacts by anyone of the applicator's staff."""
    if invitation.role == User.Role.APPLICATOR:
        require_owner(actor)
    else:
        require_applicator(actor)


def _refuse_a_known_address(email: str, builder: Builder | None) -> None:
    """Staff are no contacts, and the other way round; of other builders nothing is said."""
    user = User.objects.filter(email=email).first()
    if user is None or not (user.role or user.memberships.exists()):
        return  # imported with a site: only a name so far
    if user.is_applicator:
        if builder is None and not user.is_active:
            return
        raise Refused(refusals.address_is_staff(email))
    if builder is None:
        raise Refused(refusals.address_of_a_contact(email))
    if user.is_active and user.membership_in(builder.pk):
        raise Refused(refusals.address_known(email, str(builder)))


def valid_days() -> int:
    """How many days the link of an invitation works."""
    return int(rule_values()["invitation_valid_days"])


def _invite(
    actor: User, email: str, *, role: str, builder: Builder | None = None, sites=(), **fields
) -> Invitation:
    limits.require_room_for_an_invitation(actor, email)
    now = clock.now()
    # One to another builder stands by itself.
    same = Q(builder=builder) | ~Q(role=role)
    for replaced in open_invitations().filter(same, email=email):
        _take_back(actor, replaced, emails.invitation_replaced())
    invitation = Invitation.objects.create(
        email=email,
        role=role,
        builder=builder,
        invited_by=actor,
        created_at=now,
        expires_at=now + timedelta(days=valid_days()),
        **fields,
    )
    invitation.sites.set(sites)
    _append_invitation(actor, Verb.PERSON_INVITED, invitation)
    outbox.invitation_made(invitation)
    security.note(SecurityKind.INVITED, actor, invitation=str(invitation.pk))
    return invitation


def _append_invitation(actor: User, verb: Verb, invitation: Invitation) -> None:
    data: dict = _which(invitation)
    if verb == Verb.PERSON_INVITED and invitation.builder_id:
        data["rights"] = rights_of(invitation)
    append(None, actor, verb, data, rows=[invitation])


def _make_contact(user: User, invitation: Invitation, position: str) -> BuilderContact:
    """Whose link arrived at the invited address: that vouches for them."""
    is_first = not invitation.builder.contacts.exclude(user=user).exists()
    User.objects.select_for_update().get(pk=user.pk)  # two invitations at once: two numbers
    last = user.memberships.aggregate(last=Max("number", default=0))["last"]
    rights = {
        "position": position,
        "role": ADMINISTRATOR if is_first else invitation.contact_role,
        "all_sites": invitation.all_sites,
        "is_active": True,
        "vouched_how": BuilderContact.Vouched.ADDRESS,
        "vouched_at": clock.now(),
        "vouched_by": user,
    }
    contact, _ = BuilderContact.objects.update_or_create(
        user=user,
        builder=invitation.builder,
        defaults=rights,
        create_defaults={**rights, "number": last + 1},
    )
    contact.sites.set(invitation.sites.all())
    return contact

"""Whose account it is: known by their own address, or said by an administrator of their builder.

Who has no e-mail address of their own can see and report all the same; they sign once somebody
vouches for them.
"""

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.people.rights import named
from readiness.actions.permission import require_administrator
from readiness.evidence.record import append
from readiness.models import BuilderContact, User
from readiness.models.verbs import Verb
from readiness.wording.refusals import people as refusals


@transaction.atomic
def vouch_by_address(actor: User) -> User:
    """The actor has used a code that went to their own address: once is enough.

    It is one address for all of their builders, so it counts with each.
    """
    for contact in actor.active_memberships:
        if contact.vouched_how != BuilderContact.Vouched.ADDRESS:
            _vouch(actor, contact, BuilderContact.Vouched.ADDRESS)
    return actor


@transaction.atomic
def vouch_for(actor: User, contact: BuilderContact) -> BuilderContact:
    """An administrator of the builder says that the account is that person's."""
    require_administrator(actor, contact.builder_id)
    if contact.user_id == actor.pk:
        raise Refused(refusals.vouching_for_yourself())
    if not contact.is_active:
        raise Refused(refusals.vouching_for_somebody_off())
    if not contact.vouched_how:
        _vouch(actor, contact, BuilderContact.Vouched.ADMINISTRATOR)
    return contact


def _vouch(actor: User, contact: BuilderContact, how: str) -> None:
    contact.vouched_how, contact.vouched_at, contact.vouched_by = how, clock.now(), actor
    contact.save(update_fields=["vouched_how", "vouched_at", "vouched_by"])
    data = {**named(contact), "how": str(how)}
    append(None, actor, Verb.ACCOUNT_VOUCHED, data, rows=[contact])

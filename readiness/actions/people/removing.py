"""Removing a person's details on request, without touching the Record's chain.

The Record names people by id only, so what is removed is the one row that the id leads to. What
a person signed (a readiness confirmation and its paper) keeps the name that was signed with: it
is the evidence itself, and is deleted with the site's papers when their time is over.
"""

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.db import transaction

from readiness import security
from readiness.actions.errors import Refused
from readiness.actions.people.rights import end_sessions
from readiness.actions.permission import require_owner
from readiness.evidence.kept import keys_of
from readiness.evidence.record import append, lock_site
from readiness.messages import outbox
from readiness.messages.changes import Change
from readiness.models import (
    BuilderContact,
    Invitation,
    Message,
    RecordEntry,
    SecurityKind,
    Site,
    User,
)
from readiness.models.verbs import Verb
from readiness.wording.refusals import people as refusals

REMOVED_NAME = "A person whose details were removed"


def remove_person(actor: User, person: User) -> None:
    """Remove name, address, phone and every way to sign in; the owner of the business only.

    Each site in whose Record the person appears gets an entry that says so, by id. The person is
    off first, then site by site is noted: doing it again goes on where it was cut off.
    """
    require_owner(actor)
    if person.pk == actor.pk:
        raise Refused(refusals.removing_yourself())
    if person.name != REMOVED_NAME:
        _take_off(actor, person)
    seen = RecordEntry.objects.filter(actor=person).exclude(site=None).values("site")
    for site in Site.objects.filter(pk__in=seen).order_by("pk"):
        _note(actor, person, site)


@transaction.atomic
def _take_off(actor: User, person: User) -> None:
    invitations = Invitation.objects.filter(email__iexact=person.email)
    gone = keys_of(invitations)
    invitations.delete()
    end_sessions(person)
    EmailAddress.objects.filter(user=person).delete()
    Authenticator.objects.filter(user=person).delete()
    BuilderContact.objects.filter(user=person).update(is_active=False, position="")
    outbox.drop_unsent(person, refusals.mail_details_removed())
    # Why an e-mail did not go may name whom it was for.
    Message.objects.filter(to=person).exclude(error="").update(
        error=refusals.mail_details_removed()
    )
    person.name, person.phone, person.licence_number = REMOVED_NAME, "", ""
    person.email = f"removed-{person.pk.hex}@removed.invalid"
    person.is_active = person.is_owner = False
    person.set_unusable_password()
    person.save()
    rows = [person, *BuilderContact.objects.filter(user=person)]
    data = {"person": str(person.pk)}
    # Under new salts: what the digests of before stood for can't be tried out any more.
    append(None, actor, Verb.PERSON_REMOVED, data, rows=rows, gone=gone, new_salts=True)
    outbox.account_changed(Change.REMOVED, actor, person)
    security.note(SecurityKind.PERSON_REMOVED, actor, about=person)


@transaction.atomic
def _note(actor: User, person: User, site: Site) -> None:
    """Once for a site, whoever else is at it."""
    lock_site(site.pk)
    about = str(person.pk)
    if not site.record.filter(verb=Verb.PERSON_REMOVED, data__person=about).exists():
        append(site, actor, Verb.PERSON_REMOVED, {"person": about})

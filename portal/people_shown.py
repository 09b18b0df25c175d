"""A builder's people as both sides see them: who let each in, what they may see, what happened."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import Q
from django.utils import timezone

from readiness.models import Builder, BuilderContact, Invitation, RecordEntry
from readiness.models.verbs import Verb
from readiness.wording import people as say

OF_INVITATIONS = (Verb.PERSON_INVITED, Verb.INVITATION_RENEWED, Verb.INVITATION_CANCELLED)
OF_PEOPLE = (
    Verb.INVITATION_ACCEPTED,
    Verb.ACCOUNT_VOUCHED,
    Verb.ACCESS_CHANGED,
    Verb.SWITCHED_ON,
    Verb.SWITCHED_OFF,
    Verb.PERSON_REMOVED,
)


@dataclass
class Shown:
    """One person of a builder, with what the business's Record says of their account."""

    contact: BuilderContact
    history: list[str] = field(default_factory=list)

    @property
    def may_be_vouched_for(self) -> bool:
        return self.contact.is_active and self.contact.may_act and not self.contact.vouched_how

    @property
    def rights(self) -> str:
        return say.rights(self.contact)

    @property
    def vouched(self) -> str:
        return say.vouched(self.contact)


def people_of(builder: Builder) -> list[Shown]:
    """Everybody who signs in for a builder or did, in a constant number of queries."""
    contacts = builder.contacts.select_related("user", "vouched_by").prefetch_related("sites")
    shown = {str(contact.user_id): Shown(contact) for contact in contacts}
    invitations = {str(one.pk): one for one in builder.invitations.all()}
    entries = list(_entries(shown, invitations))
    whose = _accepted_by(entries)
    by_person: dict[str, list[RecordEntry]] = defaultdict(list)
    for entry in entries:
        person = entry.data.get("person") or whose.get(entry.data.get("invitation"))
        by_person[str(person)].append(entry)
    for pk, person in shown.items():
        person.history = [
            say.line(entry, person.contact, _invitation_of(entry, invitations), _zone())
            for entry in by_person[pk]
            if _is_of(entry, person.contact)
        ]
    return list(shown.values())


def _entries(people, invitations):
    """The oldest first."""
    about = Q(verb__in=OF_PEOPLE, data__person__in=list(people))
    about |= Q(verb__in=OF_INVITATIONS, data__invitation__in=list(invitations))
    return RecordEntry.objects.filter(about, site=None).select_related("actor").order_by("sequence")


def _is_of(entry: RecordEntry, contact: BuilderContact) -> bool:
    """Whether an entry about a person is about this membership: nobody reads of another builder.

    Entries of before people could belong to several builders name none: they are of the first.
    """
    if entry.verb in (*OF_INVITATIONS, Verb.PERSON_REMOVED):
        return True
    builder = entry.data.get("builder")
    return builder == str(contact.builder_id) if builder else contact.number == 1


def _accepted_by(entries) -> dict:
    """Who used which invitation."""
    return {
        entry.data["invitation"]: entry.data["person"]
        for entry in entries
        if entry.verb == Verb.INVITATION_ACCEPTED
    }


def _invitation_of(entry: RecordEntry, invitations: dict[str, Invitation]) -> Invitation | None:
    return invitations.get(entry.data.get("invitation", ""))


def _zone():
    return timezone.get_current_timezone()

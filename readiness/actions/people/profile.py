"""A person's own details, and the first owners of the business."""

import uuid
from collections.abc import Mapping

from django.db import transaction

from readiness import security
from readiness.actions.errors import Refused
from readiness.evidence.record import append
from readiness.models import BuilderContact, SecurityKind, User
from readiness.models.verbs import Verb
from readiness.wording.refusals import people as refusals

PROFILE_FIELDS = ("name", "phone")


@transaction.atomic
def change_profile(
    actor: User, *, positions: Mapping[uuid.UUID, str] | None = None, **fields: str
) -> User:
    """Change one's own details; as a contact also one's position, by the builder's id."""
    unknown = set(fields) - set(PROFILE_FIELDS)
    if unknown:
        raise TypeError(f"Not a detail of a person: {', '.join(sorted(unknown))}")
    changed = [name for name, value in fields.items() if getattr(actor, name) != value]
    for name in changed:
        setattr(actor, name, fields[name])
    actor.save(update_fields=changed)
    moved = _take_positions(actor, positions or {})
    if changed or moved:
        data: dict = {"fields": changed + ["position"] * bool(moved)}
        if moved:
            data["builders"] = [str(contact.builder_id) for contact in moved]
        append(None, actor, Verb.PROFILE_CHANGED, data, rows=[actor, *moved])
    return actor


def _take_positions(actor: User, positions: Mapping[uuid.UUID, str]) -> list[BuilderContact]:
    """The memberships whose position came out another one."""
    moved = []
    for contact in actor.active_memberships:
        position = positions.get(contact.builder_id, contact.position)
        if position != contact.position:
            contact.position = position
            contact.save(update_fields=["position"])
            moved.append(contact)
    return moved


@transaction.atomic
def add_owner(email: str, name: str = "") -> User:
    """Make the person with that address an owner: the first one, or one more, from the console."""
    email = email.strip().lower()
    user = User.objects.filter(email=email).first()
    if user and not user.is_applicator:
        raise Refused(refusals.address_of_a_contact(email))
    if user is None:
        user = User.objects.create_user(email, name=name, role=User.Role.APPLICATOR)
    user.is_owner = user.is_active = True
    user.name = name or user.name
    user.save()
    append(None, None, Verb.OWNER_ADDED, {"person": str(user.pk)}, rows=[user])
    security.note(SecurityKind.MADE_OWNER, about=user)
    return user

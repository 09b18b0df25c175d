"""The business's list of days off: show days of places, and its own shut-downs."""

import uuid

from django.db import transaction

from readiness import clock, security
from readiness.actions.errors import Refused
from readiness.actions.permission import require_owner
from readiness.evidence.kept import keys_of
from readiness.evidence.record import append, lock_business
from readiness.messages import outbox
from readiness.messages.changes import Change
from readiness.models import DayOff, SecurityKind, User
from readiness.models.verbs import Verb
from readiness.rules import days_off as rules
from readiness.wording import days_off as wording
from readiness.wording.refusals import firm as refusals


@transaction.atomic
def keep_day_off(actor: User, entry: rules.DayOff, *, day_off_id: uuid.UUID) -> DayOff:
    """Add an entry to the list, or change the one of this id. Owners only.

    The same entry sent twice is one. Due dates and bookings that are there already stay.
    """
    require_owner(actor)
    lock_business()
    row = DayOff.objects.filter(pk=day_off_id).first() or DayOff(pk=day_off_id)
    verb, said = Verb.DAY_OFF_ADDED, {"day_off": wording.whole(entry)}
    if not row._state.adding:
        if row.rule == entry:
            return row
        verb, said["day_off_before"] = Verb.DAY_OFF_CHANGED, wording.whole(row.rule)
    _must_be_possible(entry, day_off_id)
    row.set_to(entry)
    row.save()
    append(None, actor, verb, {}, rows=[row], said=said)
    _tell(actor)
    return row


@transaction.atomic
def remove_day_off(actor: User, day_off: DayOff) -> None:
    """Take an entry off the list; once it is gone, this does nothing. Owners only."""
    require_owner(actor)
    lock_business()
    row = DayOff.objects.filter(pk=day_off.pk).first()
    if row is None:
        return
    said, gone = {"day_off_before": wording.whole(row.rule)}, keys_of([row])
    row.delete()
    append(None, actor, Verb.DAY_OFF_REMOVED, {}, gone=gone, said=said)
    _tell(actor)


def _must_be_possible(entry: rules.DayOff, day_off_id: uuid.UUID) -> None:
    today = clock.now().date()
    if problem := entry.problem(today):
        raise Refused(refusals.day_off(problem))
    others = [row.rule for row in DayOff.objects.exclude(pk=day_off_id)]
    if year := rules.too_many([*others, entry], today.year):
        raise Refused(refusals.too_many_days_off(year))


def _tell(actor: User) -> None:
    outbox.account_changed(Change.DAYS_OFF, actor)
    security.note(SecurityKind.DAYS_OFF_CHANGED, actor)

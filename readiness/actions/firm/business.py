"""The business's own settings."""

import json
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from readiness import security
from readiness.actions.errors import Refused
from readiness.actions.permission import require_owner
from readiness.actions.ranking import policy_changed
from readiness.evidence.record import append
from readiness.messages import outbox
from readiness.messages.changes import Change
from readiness.models import Business, SecurityKind, User
from readiness.models.verbs import Verb
from readiness.snapshots import LETTERHEAD
from readiness.wording.refusals import firm as refusals

BUSINESS_FIELDS = (
    *LETTERHEAD,
    "confirmation_statement",
    "guide_note",
    "fixes_needed",
    "share_positions",
    "outlines_open_joints",
    "retention_years",
)


@transaction.atomic
def change_business(actor: User, **fields) -> Business:
    """Change the letterhead and how the business works. Owners only.

    Reports that are issued and statements that are signed keep the words they were made with.
    """
    require_owner(actor)
    unknown = set(fields) - set(BUSINESS_FIELDS)
    if unknown:
        raise TypeError(f"Not a setting of the business: {', '.join(sorted(unknown))}")
    if not fields.get("name", "x").strip():
        raise Refused(refusals.no_name())
    if not fields.get("confirmation_statement", "x").strip():
        raise Refused(refusals.no_statement())
    Business.current()
    business = Business.objects.select_for_update().get(pk=1)
    policy = business.fixes_needed
    before = {name: getattr(business, name) for name in fields}
    for name, value in fields.items():
        setattr(business, name, value)
    business.save()
    changed = {name: value for name, value in before.items() if getattr(business, name) != value}
    if changed:
        note_change(business, actor, Verb.BUSINESS_CHANGED, changed, fields=changed)
    if business.fixes_needed != policy:
        policy_changed()
    return business


NOTED = {
    Verb.BUSINESS_CHANGED: (Change.BUSINESS, SecurityKind.SETTINGS_CHANGED),
    Verb.RULE_VALUES_CHANGED: (Change.RULE_VALUES, SecurityKind.RULES_CHANGED),
}
"""What is told by e-mail, and in the security log."""


def note_change(
    business: Business, actor: User, verb: Verb, before: Mapping[str, Any], fields: Iterable[str]
) -> None:
    """Tell of changed settings: in the business's Record with the old and the new values, to the
    owners, and in the security log, by the names of the `fields`.
    """
    said = {
        "before": as_json(before),
        "after": as_json({name: getattr(business, name) for name in before}),
    }
    append(None, actor, verb, {"fields": sorted(before)}, rows=[business], said=said)
    change, kind = NOTED[verb]
    outbox.account_changed(change, actor)
    security.note(kind, actor, fields=sorted(fields))


def as_json(values: Mapping[str, Any]) -> str:
    """Settings as text, to be kept with an entry."""
    return json.dumps(values, sort_keys=True, ensure_ascii=False, default=str)

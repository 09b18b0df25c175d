"""The business's own settings."""

from django.db import transaction

from readiness.actions.errors import Refused
from readiness.actions.permission import require_owner
from readiness.actions.ranking import policy_changed
from readiness.models import Business, User
from readiness.snapshots import LETTERHEAD
from readiness.wording.refusals import firm as refusals

BUSINESS_FIELDS = (
    *LETTERHEAD,
    "confirmation_statement",
    "guide_note",
    "fixes_needed",
    "share_positions",
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
    for name, value in fields.items():
        setattr(business, name, value)
    business.save(update_fields=list(fields) or None)
    if business.fixes_needed != policy:
        policy_changed()
    return business

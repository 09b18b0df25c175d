"""Taking a colleague's second factor away, so that they can set up another: a lost phone."""

from allauth.mfa.models import Authenticator
from django.db import transaction

from readiness import security
from readiness.actions.errors import Refused
from readiness.actions.permission import require_owner
from readiness.evidence.record import append
from readiness.messages import outbox
from readiness.messages.changes import Change
from readiness.models import SecurityKind, User
from readiness.models.verbs import Verb
from readiness.wording.refusals import people as refusals


@transaction.atomic
def reset_second_factor(actor: User, colleague: User) -> User:
    """Owners only, and nobody resets their own. The entry keeps what was there."""
    require_owner(actor)
    if actor.pk == colleague.pk:
        raise Refused(refusals.resetting_your_own())
    if not colleague.is_applicator:
        raise Refused(refusals.not_a_colleague())
    there = Authenticator.objects.filter(user=colleague)
    before = sorted(there.values_list("type", flat=True))
    there.delete()
    data = {"person": str(colleague.pk), "factors_before": before}
    append(None, actor, Verb.SECOND_FACTOR_RESET, data, rows=[colleague])
    security.note(SecurityKind.FACTORS_RESET, actor, about=colleague)
    outbox.account_changed(Change.SECOND_FACTOR_RESET, actor, colleague)
    return colleague

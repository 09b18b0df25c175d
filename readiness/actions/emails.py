"""What the office does with an e-mail that did not go: send it now after all, or leave it."""

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.messages.outbox import DROPPED, enqueue
from readiness.models import Message, User
from readiness.wording.refusals import people as refusals


@transaction.atomic
def retry_message(actor: User, message: Message) -> Message:
    """Send an e-mail now that did not go; one that went, or is under way, is left alone.

    Only the applicator can. Raises Refused when the person gets no e-mails any more.
    """
    require_applicator(actor)
    message = _locked(message)
    if not message.can_be_retried:
        return message
    if message.to is not None and not message.to.is_active:
        raise Refused(refusals.has_no_access(str(message.to)))
    message.state, message.given_up_at, message.attempts = Message.State.WAITING, None, 0
    message.error, message.next_try_at = "", clock.now()
    message.save(update_fields=["state", "given_up_at", "attempts", "error", "next_try_at"])
    enqueue(message)
    return message


@transaction.atomic
def drop_message(actor: User, message: Message) -> Message:
    """Leave an e-mail that did not go unsent: it was said by telephone, or is no news any more."""
    require_applicator(actor)
    message = _locked(message)
    if message.can_be_retried:
        Message.objects.filter(pk=message.pk).update(**DROPPED)
        message.refresh_from_db()
    return message


def _locked(message: Message) -> Message:
    rows = Message.objects.select_for_update(of=("self",))
    return rows.select_related("to", "invitation").get(pk=message.pk)

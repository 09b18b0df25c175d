"""Sending one e-mail of the outbox in the background: claimed, written, handed over, noted."""

import logging
from functools import partial

from django.db import transaction
from django_tasks import task

from readiness import clock, errands
from readiness.errands import ClaimLost
from readiness.messages import sending, writing
from readiness.messages.sending import Outcome
from readiness.models import Message
from readiness.wording import emails
from readiness.wording.emails import Trouble

log = logging.getLogger(__name__)


@task()
def send_message(message_id: str) -> None:
    """Send one e-mail, text and HTML; an outage is written down and shown, and tried again."""
    message = errands.claim(Message, message_id, handed_over_at=None)
    if message is None:
        return
    try:
        written = writing.write_email(message)
        tried = sending.hand_over(written.email, before_text=partial(_mark_text_goes, message))
    except writing.NotNeeded as reason:
        errands.drop(message, str(reason))
    except ClaimLost:
        log.warning("The e-mail %s is being sent by another worker", message_id)
    except Exception as error:
        log.exception("The e-mail %s could not be written", message_id)
        kind = Trouble.OUTAGE if errands.passes(error) else Trouble.FAULT
        errands.again(message, emails.trouble(kind), errands.pauses_after(error))
    else:
        with transaction.atomic():
            _note(message, tried, written)


def _mark_text_goes(message: Message) -> None:
    """A worker that was taken for dead meanwhile finds out here, before it sends a double."""
    if not errands.held(message).update(handed_over_at=clock.now()):
        raise ClaimLost


def _note(message: Message, tried: sending.Try, written: writing.Written) -> None:
    """Write down how a try went."""
    if tried.outcome is Outcome.SENT:
        errands.held(message).update(
            state=Message.State.SENT, claimed_by="", error="", sent_at=clock.now()
        )
    elif tried.outcome is Outcome.REFUSED:
        errands.give_up(message, tried.error)
    elif tried.outcome is Outcome.NOT_NOW:
        errands.again(message, tried.error)
    elif message.unsure:  # a second time: more would only make more doubles
        errands.give_up(message, emails.trouble(Trouble.UNSURE), unsure=message.unsure + 1)
    else:
        errands.again(message, emails.trouble(Trouble.UNSURE), unsure=1)
    if written.link and tried.outcome in (Outcome.REFUSED, Outcome.NOT_NOW):
        written.link.delete()  # nobody has it

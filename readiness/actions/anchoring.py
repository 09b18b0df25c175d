"""Checkpoints of the Record at what a dispute will be about: an issue, a confirmation, a treatment.

Made in the background once the action is committed; what keeps one from being made keeps nobody
from working. The next one covers the same entries. Where an authority is named, each gets its
timestamp like any errand: claimed, asked for with nothing locked, written down, tried again.
"""

import logging
from functools import partial

from django.conf import settings
from django.db import transaction
from django_tasks import task

from readiness import errands
from readiness.evidence import checkpoints, timestamps
from readiness.evidence.checkpoints import Reason
from readiness.evidence.notes import b64
from readiness.evidence.signing import BadKey
from readiness.models import Checkpoint, Paper, Timestamp
from readiness.wording import office_status

log = logging.getLogger(__name__)

__all__ = ["Reason", "ask_timestamp", "checkpoint_after", "checkpoint_for", "make_checkpoint"]


@task(priority=20)
def make_checkpoint(reason: str) -> None:
    """Before the papers, which carry it."""
    checkpoints.make_quietly(reason)


def checkpoint_after(reason: Reason) -> None:
    """Hand it to the background once this transaction is through."""
    transaction.on_commit(partial(make_checkpoint.enqueue, str(reason)))


def checkpoint_for(paper: Paper) -> Checkpoint | None:
    """The one that a paper is to carry: over all that was done before it was asked for.

    None where none can be signed now: the office is told, and a paper does not wait for that.
    """
    try:
        return checkpoints.covering(paper.site, paper.requested_at)
    except (BadKey, checkpoints.HistoryChanged):
        log.exception("Paper %s carries no checkpoint", paper.pk)
        return None


@task()
def ask_timestamp(checkpoint: str) -> None:
    """Ask the authority for the timestamp of one checkpoint, and keep it."""
    wanted = errands.claim(Timestamp, checkpoint)
    if wanted is None:
        return
    url = settings.READINESS_TIMESTAMP_URL
    if not url:
        errands.give_up(wanted, office_status.no_authority())
        return
    try:
        stamp = timestamps.ask(checkpoints.note_of(wanted.checkpoint).signed, url)
    except Exception as error:
        log.warning("No timestamp of checkpoint %s: %s", checkpoint, error)
        errands.again(wanted, str(error)[:300], errands.pauses_after(error))
        return
    errands.held(wanted).update(
        state=Timestamp.State.MADE,
        claimed_by="",
        error="",
        authority=url[:300],
        answer=b64(stamp.answer),
        stamped_at=stamp.at,
    )

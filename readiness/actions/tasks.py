"""What runs in the background: smaller sizes of photos, papers, e-mails.

Each task may run twice or be lost: it claims the row that says what is left to do, does it with no
transaction open, and writes down how it went. `catching_up` finds what was never started.
"""

import hashlib
import logging
from functools import partial

from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.db import Error as DatabaseError
from django.db import transaction
from django_tasks import task

from readiness import clock
from readiness.actions import messages, retrying, sending, writing
from readiness.actions.retrying import FAULT_PAUSES, PAUSES, ClaimLost
from readiness.actions.sending import Outcome
from readiness.evidence.record import append
from readiness.models import Message, Original, Paper
from readiness.photos.sizes import SizesError

log = logging.getLogger(__name__)

OUTAGES = (OSError, DatabaseError)
"""What passes by itself: a store, a network, a database. The rest is a fault of the portal."""

OUTAGE = "the database or the store of the portal did not answer."

FAULT = "a fault of the portal. What it is stands in the portal's log."

UNSURE = "the mail server broke off without an answer. It is not known whether the e-mail went."


@task()
def make_sizes(digest: str) -> None:
    """Make the smaller sizes of a photo's original. Twice at once does no harm."""
    from readiness.photos.sizes import make_sizes as make

    original = Original.objects.sizes_due(clock.now()).filter(pk=digest).first()
    if original is None:
        return
    if original.sizes_attempts > len(PAUSES):
        _give_up_sizes(original)
        return
    original.sizes_attempts += 1
    # Where this process dies, the next try is after a pause too.
    original.sizes_next_try_at = clock.now() + PAUSES[1]
    original.save(update_fields=["sizes_attempts", "sizes_next_try_at"])
    try:
        make(original)
    except Exception as error:
        log.warning("The sizes of %s could not be made: %s", digest, error)
        when = retrying.next_try(original.sizes_attempts, _pauses(error))
        given_up = None if when else clock.now()
        Original.objects.without_sizes().filter(pk=digest).update(
            sizes_next_try_at=when, sizes_given_up_at=given_up, sizes_error=str(error)[:200]
        )


def _give_up_sizes(original: Original) -> None:
    """None of its tries came to an end: a picture that kills its worker must not do so for ever."""
    Original.objects.without_sizes().filter(pk=original.pk).update(
        sizes_given_up_at=clock.now(), sizes_error=retrying.CUT_OFF
    )


@task(priority=10)
def make_paper(paper_id: str) -> None:
    """Make one paper, once; then let the e-mails that wait for it go."""
    from readiness.papers.render import render_paper

    claimed = retrying.claim(Paper, paper_id, progress="Starting")
    if claimed is None:
        return
    paper = Paper.objects.select_related(
        "site__builder", "report", "confirmation", "booking", "trade_link"
    ).get(pk=paper_id)
    try:
        made = render_paper(paper, progress=partial(_say_progress, claimed))
        _store(paper, made.content, made.pages)
    except Exception as error:
        log.exception("Paper %s could not be made", paper_id)
        _paper_failed(paper, error)


def _say_progress(claimed: Paper, words: str) -> None:
    retrying.held(claimed).update(progress=words[:80])


def _store(paper: Paper, content: bytes, pages: int) -> None:
    digest = hashlib.sha256(content).hexdigest()
    name = f"{digest[:2]}/{digest}.pdf"
    store = storages["papers"]
    if not store.exists(name):
        name = store.save(name, ContentFile(content))
    with transaction.atomic():
        _note_made(paper, digest, name, len(content), pages)
        if paper.report_id and paper.kind != Paper.Kind.CONFIRMATION:
            messages.release_report_messages(paper.report_id)


def _note_made(paper: Paper, digest: str, name: str, byte_size: int, pages: int) -> None:
    """Write down that it is made and stored, unless the claim was lost: then another one is."""
    made = retrying.held(paper).update(
        state=Paper.State.MADE,
        claimed_by="",
        progress="",
        error="",
        digest=digest,
        storage_name=name,
        byte_size=byte_size,
        pages=pages,
        made_at=clock.now(),
    )
    if not made:
        return
    data = {
        "paper": str(paper.pk),
        "kind": paper.kind,
        "edition": paper.edition,
        "trade": paper.trade,
        "sha256": digest,
    }
    append(paper.site, None, "paper_made", data)


def _paper_failed(paper: Paper, error: Exception) -> None:
    words = f"{type(error).__name__}: {error}"[:2000]
    with transaction.atomic():
        retrying.again(paper, words, _pauses(error), progress="")
        failed = Paper.objects.failed().filter(pk=paper.pk, started_at=paper.started_at)
        if not failed.exists():
            return
        append(paper.site, None, "paper_failed", {"paper": str(paper.pk), "kind": paper.kind})
        if paper.report_id and paper.kind != Paper.Kind.CONFIRMATION:
            messages.release_report_messages(paper.report_id)


def _passes(error: Exception) -> bool:
    return error.passing if isinstance(error, SizesError) else isinstance(error, OUTAGES)


def _pauses(error: Exception):
    return PAUSES if _passes(error) else FAULT_PAUSES


@task()
def send_message(message_id: str) -> None:
    """Send one e-mail, text and HTML; an outage is written down and shown, and tried again."""
    message = retrying.claim(Message, message_id, handed_over_at=None)
    if message is None:
        return
    try:
        written = writing.write_email(message)
        tried = sending.hand_over(written.email, before_text=partial(_mark_text_goes, message))
    except writing.NotNeeded as reason:
        retrying.drop(message, str(reason))
    except ClaimLost:
        log.warning("The e-mail %s is being sent by another worker", message_id)
    except Exception as error:
        log.exception("The e-mail %s could not be written", message_id)
        retrying.again(message, OUTAGE if _passes(error) else FAULT, _pauses(error))
    else:
        with transaction.atomic():
            _note(message, tried, written)


def _mark_text_goes(message: Message) -> None:
    """A worker that was taken for dead meanwhile finds out here, before it sends a double."""
    if not retrying.held(message).update(handed_over_at=clock.now()):
        raise ClaimLost


def _note(message: Message, tried: sending.Try, written: writing.Written) -> None:
    """Write down how a try went."""
    if tried.outcome is Outcome.SENT:
        retrying.held(message).update(
            state=Message.State.SENT, claimed_by="", error="", sent_at=clock.now()
        )
    elif tried.outcome is Outcome.REFUSED:
        retrying.give_up(message, tried.error)
    elif tried.outcome is Outcome.NOT_NOW:
        retrying.again(message, tried.error)
    elif message.unsure:  # a second time: more would only make more doubles
        retrying.give_up(message, UNSURE, unsure=message.unsure + 1)
    else:
        retrying.again(message, UNSURE, unsure=1)
    if written.link and tried.outcome in (Outcome.REFUSED, Outcome.NOT_NOW):
        written.link.delete()  # nobody has it

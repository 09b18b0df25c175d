"""What runs in the background: smaller sizes of photos, papers, and e-mails.

Each task may run twice or be lost: it claims the row that says what is left to do, does it with no
transaction open, and writes down how it went. `catching_up` finds what was never started. Queues
name a task by this module: each that ever stood here can be called from here.
"""

import hashlib
import logging
from functools import partial

from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.db import transaction
from django_tasks import task

from readiness import clock, errands
from readiness.actions import anchoring
from readiness.errands import PAUSES
from readiness.evidence.record import append
from readiness.messages import outbox
from readiness.messages.delivery import send_message
from readiness.models import Original, Paper
from readiness.models.verbs import Verb

log = logging.getLogger(__name__)

__all__ = ["make_paper", "make_sizes", "send_message"]


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
        when = errands.next_try(original.sizes_attempts, errands.pauses_after(error))
        given_up = None if when else clock.now()
        Original.objects.without_sizes().filter(pk=digest).update(
            sizes_next_try_at=when, sizes_given_up_at=given_up, sizes_error=str(error)[:200]
        )


def _give_up_sizes(original: Original) -> None:
    """None of its tries came to an end: a picture that kills its worker must not do so for ever."""
    Original.objects.without_sizes().filter(pk=original.pk).update(
        sizes_given_up_at=clock.now(), sizes_error=errands.CUT_OFF
    )


@task(priority=10)
def make_paper(paper_id: str) -> None:
    """Make one paper, once; then let the e-mails that wait for it go."""
    from readiness.papers.render import render_paper

    claimed = errands.claim(Paper, paper_id, progress="Starting")
    if claimed is None:
        return
    paper = Paper.objects.select_related(
        "site__builder", "report", "confirmation", "booking", "trade_link", "checkpoint__key"
    ).get(pk=paper_id)
    try:
        _keep_checkpoint(paper)
        made = render_paper(paper, progress=partial(_say_progress, claimed))
        _store(paper, made.content, made.pages)
    except Exception as error:
        log.exception("Paper %s could not be made", paper_id)
        _paper_failed(paper, error)


def _keep_checkpoint(paper: Paper) -> None:
    """Settled once for each paper: made again, it carries the same one."""
    if paper.checkpoint is None:
        paper.checkpoint = anchoring.checkpoint_for(paper)
        errands.held(paper).update(checkpoint=paper.checkpoint)


def _say_progress(claimed: Paper, words: str) -> None:
    errands.held(claimed).update(progress=words[:80])


def _store(paper: Paper, content: bytes, pages: int) -> None:
    digest = hashlib.sha256(content).hexdigest()
    name = f"{digest[:2]}/{digest}.pdf"
    store = storages["papers"]
    if not store.exists(name):
        name = store.save(name, ContentFile(content))
    with transaction.atomic():
        _note_made(paper, digest, name, len(content), pages)
        if paper.report_id:
            outbox.release_report_messages(paper.report_id)


def _note_made(paper: Paper, digest: str, name: str, byte_size: int, pages: int) -> None:
    """Write down that it is made and stored, unless the claim was lost: then another one is."""
    made = errands.held(paper).update(
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
    append(paper.site, None, Verb.PAPER_MADE, data, rows=[paper])


def _paper_failed(paper: Paper, error: Exception) -> None:
    words = f"{type(error).__name__}: {error}"[:2000]
    with transaction.atomic():
        errands.again(paper, words, errands.pauses_after(error), progress="")
        failed = Paper.objects.failed().filter(pk=paper.pk, started_at=paper.started_at)
        if not failed.exists():
            return
        append(paper.site, None, Verb.PAPER_FAILED, {"paper": str(paper.pk), "kind": paper.kind})
        if paper.report_id:
            outbox.release_report_messages(paper.report_id)

"""What runs in the background: smaller sizes of photos, papers, e-mails.

Each task may run twice or be lost: it looks at what is stored, does what is left to do, and
`catch_up` finds what was never started.
"""

import hashlib
import logging
from datetime import timedelta
from functools import partial

from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.db.models import F
from django.template.loader import render_to_string
from django_tasks import task

from readiness import clock
from readiness.actions import letters, mail_trouble, messages
from readiness.actions.record import append
from readiness.models import Business, Message, Original, Paper
from readiness.photos.moving import move_waiting

log = logging.getLogger(__name__)

ATTEMPTS = 3
STALE = timedelta(minutes=10)
MADE_FIELDS = (
    "state", "progress", "error", "digest", "storage_name", "byte_size", "pages", "made_at",
)  # fmt: skip


@task()
def make_sizes(digest: str) -> None:
    """Make the smaller sizes of a photo's original."""
    from readiness.photos.sizes import make_sizes as make

    make(Original.objects.get(pk=digest))


@task()
def make_paper(paper_id: str) -> None:
    """Make one paper, once; then let the e-mails that wait for it go."""
    from readiness.papers.render import render_paper

    started = Paper.objects.filter(pk=paper_id, state=Paper.State.QUEUED).update(
        state=Paper.State.MAKING,
        started_at=clock.now(),
        attempts=F("attempts") + 1,
        error="",
        progress="Starting",
    )
    if not started:
        return
    paper = Paper.objects.select_related(
        "site__builder", "report", "confirmation", "booking", "trade_link"
    ).get(pk=paper_id)
    try:
        made = render_paper(paper, progress=partial(_say_progress, paper_id))
        _store(paper, made.content, made.pages)
    except Exception as error:
        log.exception("Paper %s could not be made", paper_id)
        _paper_failed(paper, error)


def _say_progress(paper_id: str, words: str) -> None:
    Paper.objects.filter(pk=paper_id).update(progress=words[:80])


def _store(paper: Paper, content: bytes, pages: int) -> None:
    digest = hashlib.sha256(content).hexdigest()
    name = f"{digest[:2]}/{digest}.pdf"
    store = storages["papers"]
    if not store.exists(name):
        name = store.save(name, ContentFile(content))
    with transaction.atomic():
        paper.state, paper.progress, paper.error = Paper.State.MADE, "", ""
        paper.digest, paper.storage_name = digest, name
        paper.byte_size, paper.pages, paper.made_at = len(content), pages, clock.now()
        paper.save(update_fields=MADE_FIELDS)
        append(
            paper.site,
            None,
            "paper_made",
            {
                "paper": str(paper.pk),
                "kind": paper.kind,
                "edition": paper.edition,
                "trade": paper.trade,
                "sha256": digest,
            },
        )
        if paper.report and paper.kind != Paper.Kind.CONFIRMATION:
            messages.release_report_messages(paper.report)


def _paper_failed(paper: Paper, error: Exception) -> None:
    again = paper.attempts < ATTEMPTS
    paper.state = Paper.State.QUEUED if again else Paper.State.FAILED
    paper.error, paper.progress = f"{type(error).__name__}: {error}"[:2000], ""
    with transaction.atomic():
        paper.save(update_fields=["state", "error", "progress"])
        if again:
            transaction.on_commit(partial(make_paper.enqueue, str(paper.pk)))
        else:
            append(paper.site, None, "paper_failed", {"paper": str(paper.pk), "kind": paper.kind})


@task()
def send_message(message_id: str) -> None:
    """Send one e-mail, text and HTML; an outage is written down and shown, and tried again."""
    with transaction.atomic():
        message = (
            Message.objects.select_for_update(of=("self",))
            .select_related("site__builder", "to")
            .get(pk=message_id)
        )
        if message.sent_at or not message.to.is_active:
            return
        try:
            _email(message, letters.write(message)).send()
        except OSError as error:
            log.warning("E-mail %s was not sent: %s", message_id, error)
            message.error = mail_trouble.in_words(error)
        else:
            message.sent_at, message.error = clock.now(), ""
        message.save(update_fields=["sent_at", "error"])


def _email(message: Message, letter: letters.Letter) -> EmailMultiAlternatives:
    business = Business.current()
    context = {"letter": letter, "business": business, "to": message.to}
    email = EmailMultiAlternatives(
        subject=" ".join(letter.subject.split()),
        body=render_to_string("email/message.txt", context),
        to=[message.to.email],
        reply_to=[business.email] if business.email else None,
    )
    email.attach_alternative(render_to_string("email/message.html", context), "text/html")
    if letter.calendar:
        email.attach("treatment.ics", letter.calendar.content, letter.calendar.content_type)
    return email


def catch_up() -> int:
    """Start again what was never started or was cut off; returns how many things that was."""
    late = clock.now() - STALE
    Paper.objects.filter(state=Paper.State.MAKING, requested_at__lt=late).update(
        state=Paper.State.QUEUED
    )
    papers = list(Paper.objects.filter(state=Paper.State.QUEUED, requested_at__lt=late))
    for paper in papers:
        make_paper.enqueue(str(paper.pk))
    waiting = [
        message
        for message in Message.objects.filter(sent_at=None, queued_at__lt=late)
        if not message.details.get("wait_for_papers") or message.error
    ]
    for message in waiting:
        send_message.enqueue(str(message.pk))
    originals = list(
        Original.objects.filter(
            sizes_made_at=None, sizes_error="", deleted_at=None, received_at__lt=late
        ).values_list("digest", flat=True)
    )
    for digest in originals:
        make_sizes.enqueue(digest)
    move_waiting()  # no task: what lies on this machine only this machine can move
    return len(papers) + len(waiting) + len(originals)

"""Papers and e-mails that are made again, and what the worker writes about papers."""

from datetime import timedelta

from readiness import errands
from readiness.actions import emails, tasks
from readiness.actions.papers import asking, replacing
from readiness.actions.photos import keeping
from readiness.models import Message, Paper
from tests.actions.cases.base import BLUR, MAIL, NOW, PAPER, Case, case, of


@case(asking.retry_paper)
def _(cast):
    paper = cast.issued(kinds=()).papers.first()
    Paper.objects.filter(pk=paper.pk).update(
        state=Paper.State.FAILED, given_up_at=NOW, attempts=4, next_try_at=None
    )
    return Case(
        lambda: asking.retry_paper(cast.applicator, paper), cast.applicator, handed_on=[PAPER]
    )


@case(asking.new_edition)
def _(cast):
    paper = cast.issued(kinds=()).papers.first()
    return Case(
        lambda: asking.new_edition(cast.applicator, paper, reason="Blurred"),
        cast.applicator,
        handed_on=[PAPER],
    )


@case(replacing.replace_papers, "papers_replaced")
def _(cast):
    item = cast.item()
    photo = item.photos.get()
    earlier = NOW - timedelta(hours=1)
    item.report.papers.update(
        state=Paper.State.MADE, digest="0" * 64, pages=1, started_at=earlier, made_at=earlier
    )
    keeping.save_markup(cast.applicator, photo, [BLUR], seen_version=0)
    return Case(
        lambda: replacing.replace_papers(cast.applicator, photo, reason="A face"),
        cast.applicator,
        lambda made: [
            {**of(photo), "reason": "A face", "papers": [str(paper.pk) for paper in made]}
        ],
        [PAPER] * 3,
    )


def guide_of(cast) -> Paper:
    return asking.queue_guide(cast.site)


@case(tasks._note_made, "paper_made")
def _(cast):
    paper = errands.claim(Paper, guide_of(cast).pk)
    data = {"paper": str(paper.pk), "kind": "guide", "edition": 1, "trade": "", "sha256": "a" * 64}
    return Case(
        lambda: tasks._note_made(paper, "a" * 64, "aa/x.pdf", 10, 1),
        None,
        lambda _none: [data],
    )


@case(tasks._paper_failed, "paper_failed")
def _(cast):
    paper = guide_of(cast)
    Paper.objects.filter(pk=paper.pk).update(attempts=3)
    claimed = errands.claim(Paper, paper.pk)
    return Case(
        lambda: tasks._paper_failed(claimed, RuntimeError("no font")),
        None,
        lambda _none: [{"paper": str(paper.pk), "kind": "guide"}],
    )


def failed_message(cast) -> Message:
    cast.offered()
    message = Message.objects.get()
    Message.objects.filter(pk=message.pk).update(
        state=Message.State.GIVEN_UP, given_up_at=NOW, attempts=7, next_try_at=None
    )
    return message


@case(emails.retry_message)
def _(cast):
    message = failed_message(cast)
    return Case(
        lambda: emails.retry_message(cast.applicator, message),
        cast.applicator,
        handed_on=[MAIL],
    )


@case(emails.drop_message)
def _(cast):
    message = failed_message(cast)
    return Case(lambda: emails.drop_message(cast.applicator, message), cast.applicator)

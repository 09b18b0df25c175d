"""Papers that still show what has been blurred or deleted since, and making them again."""

from datetime import datetime

from django.db import transaction

from readiness import clock
from readiness.actions.papers import new_edition
from readiness.actions.permission import require_applicator
from readiness.actions.record import append, lock_site
from readiness.models import Paper, Photo, User
from readiness.papers.views import photo_ids
from readiness.photos.sizes import markup_of

WITH_FIXES = (Paper.Kind.CONFIRMATION, Paper.Kind.TREATMENT)
DRAWN = (Paper.State.MAKING, Paper.State.MADE)


def papers_showing(photo: Photo) -> list[Paper]:
    """The latest edition of each paper that shows the photo, or the same file under another id."""
    twins = _twins(photo)
    return [paper for paper in _latest(photo) if any(_shows(paper, twin) for twin in twins)]


def outdated_papers(photo: Photo) -> list[Paper]:
    """Those of `papers_showing` that were begun before the photo was blurred or deleted.

    A paper is never silently remade: somebody has to ask for a new edition.
    """
    hidden = [(twin, since) for twin in _twins(photo) if (since := _hidden_since(twin))]
    return [
        paper
        for paper in _latest(photo)
        if any(paper.started_at < since and _shows(paper, twin) for twin, since in hidden)
    ]


@transaction.atomic
def replace_papers(actor: User, photo: Photo, *, reason: str) -> list[Paper]:
    """Make outdated papers again; only the business sees their earlier editions from now on.

    Nothing is deleted: the earlier editions stay in the store, the export and the Record. Returns
    the new editions; doing it again while they are made changes nothing. `reason` is printed on
    them. Raises ``Refused`` without a reason.
    """
    require_applicator(actor)
    lock_site(photo.site_id)
    made = [_replace(actor, paper, reason) for paper in outdated_papers(photo)]
    if made:
        data = {
            "photo": str(photo.pk),
            "sha256": photo.original_id,
            "reason": reason,
            "papers": [str(paper.pk) for paper in made],
        }
        append(photo.site, actor, "papers_replaced", data)
    return made


def _replace(actor: User, paper: Paper, reason: str) -> Paper:
    made = new_edition(actor, paper, reason=reason)
    earlier = Paper.objects.editions_of(paper).filter(withheld_at=None).exclude(pk=made.pk)
    earlier.update(withheld_at=clock.now())
    return made


def _twins(photo: Photo) -> list[Photo]:
    same = Photo.objects.filter(site=photo.site_id, original=photo.original_id)
    return list(same.with_originals().select_related("item", "fix__item"))


def _hidden_since(photo: Photo) -> datetime | None:
    markup = markup_of(photo)
    return photo.removed_at or (markup and markup.has_blur and markup.blurred_at) or None


def _latest(photo: Photo) -> list[Paper]:
    papers = Paper.objects.filter(site=photo.site_id).exclude(kind=Paper.Kind.GUIDE)
    papers = papers.select_related(
        "report", "confirmation__report", "booking__confirmation__report"
    )
    latest = {paper.about: paper for paper in papers.order_by("edition")}
    return [paper for paper in latest.values() if paper.state in DRAWN]


def _shows(paper: Paper, photo: Photo) -> bool:
    signed = paper.confirmation or (paper.booking.confirmation if paper.booking else None)
    report = paper.report or (signed.report if signed else None)
    if report is None:
        return False
    if paper.kind == Paper.Kind.FIX_LIST and photo.item:
        return photo.item.report_id == report.pk and photo.item.trade == paper.trade
    if photo.fix:
        return paper.kind in WITH_FIXES and photo.fix.item.report_id == report.pk
    return str(photo.pk) in photo_ids(report.snapshot)

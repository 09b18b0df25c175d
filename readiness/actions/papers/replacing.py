"""Papers that still show what has been blurred or deleted since, and making them again."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from readiness import clock
from readiness.actions.papers.asking import new_edition
from readiness.actions.permission import require_applicator
from readiness.evidence.record import append, lock_site
from readiness.models import Paper, Photo, User
from readiness.models.verbs import Verb
from readiness.papers.views import photo_ids
from readiness.photos.sizes import markup_of
from readiness.rules.vocabulary import Effect

WITH_FIXES = (Paper.Kind.CONFIRMATION, Paper.Kind.TREATMENT)
WITHOUT_PHOTOS = (Paper.Kind.GUIDE, Paper.Kind.RULE_VALUES)
DRAWN = (Paper.State.MAKING, Paper.State.MADE)


def papers_showing(photo: Photo) -> list[Paper]:
    """The newest edition of each paper that shows the photo, or the same file by another id."""
    twins = _twins(photo)
    return _newest(paper for paper in _in_sight(photo) if any(_shows(paper, t) for t in twins))


def outdated_papers(photo: Photo) -> list[Paper]:
    """Those that show it and were begun before it was blurred or deleted: the newest such edition.

    A paper is never silently remade: somebody has to ask for a new edition. One that was made since
    does not help while the builder can still open the edition before it.
    """
    hidden = [(twin, since) for twin in _twins(photo) if (since := _hidden_since(twin))]
    return _newest(
        paper
        for paper in _in_sight(photo)
        if any(paper.started_at < since and _shows(paper, twin) for twin, since in hidden)
    )


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
            "papers": [str(paper.pk) for paper in made],
        }
        rows = Paper.objects.filter(site=photo.site_id).exclude(withheld_at=None)
        said = {"reason": reason}
        append(photo.site, actor, Verb.PAPERS_REPLACED, data, rows=rows, said=said)
    return made


def _replace(actor: User, outdated: Paper, reason: str) -> Paper:
    """The edition that is in force instead: asked for now, unless somebody did since."""
    editions = Paper.objects.editions_of(outdated)
    made = editions.order_by("edition").last()
    if made == outdated:
        made = new_edition(actor, outdated, reason=reason)
    earlier = editions.filter(withheld_at=None, edition__lt=made.edition)
    earlier.update(withheld_at=clock.now())
    return made


def _twins(photo: Photo) -> list[Photo]:
    same = Photo.objects.filter(site=photo.site_id, original=photo.original_id)
    return list(same.with_originals().select_related("item", "fix__item"))


def _hidden_since(photo: Photo) -> datetime | None:
    if photo.removed_at:
        return photo.removed_at
    markup = markup_of(photo)
    return markup.blurred_at if markup and markup.has_blur else None


def _in_sight(photo: Photo) -> QuerySet[Paper]:
    """Editions that the site's builder can open, or is about to, the earlier ones first."""
    papers = Paper.objects.filter(site=photo.site_id, state__in=DRAWN, withheld_at=None)
    papers = papers.exclude(kind__in=WITHOUT_PHOTOS).order_by("edition")
    return papers.select_related("report", "booking__confirmation__report")


def _newest(papers: Iterable[Paper]) -> list[Paper]:
    """Of each paper the last of the editions, which come in their order."""
    return list({tuple(paper.one_paper.values()): paper for paper in papers}.values())


def _shows(paper: Paper, photo: Photo) -> bool:
    visit = paper.booking
    signed = visit.confirmation if visit else None
    report = signed.report if signed else paper.report
    if report is None:
        return False
    if paper.kind == Paper.Kind.FIX_LIST:
        item = photo.item
        on_a_list = item is not None and item.effect == Effect.HOLDS and item.report_id == report.pk
        return on_a_list and item.trade == paper.trade
    if photo.fix:
        return paper.kind in WITH_FIXES and photo.fix.item.report_id == report.pk
    return str(photo.pk) in photo_ids(report.snapshot)

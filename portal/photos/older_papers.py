"""Papers that still show a photo as it was before a part of it was blurred."""

from readiness.models import Paper, Photo
from readiness.papers.views import photo_ids

WITH_FIXES = (Paper.Kind.CONFIRMATION, Paper.Kind.TREATMENT)


def papers_without_blur(photo: Photo, blurred_at) -> list[Paper]:
    """The latest edition of each paper that shows the photo and was made before `blurred_at`.

    A paper is never silently remade: somebody has to ask for a new edition.
    """
    papers = Paper.objects.made().filter(site=photo.site_id).exclude(kind=Paper.Kind.GUIDE)
    papers = papers.select_related(
        "report", "confirmation__report", "booking__confirmation__report"
    )
    latest: dict[str, Paper] = {}
    for paper in papers.order_by("edition"):
        latest[paper.about] = paper
    return [
        paper for paper in latest.values() if paper.made_at < blurred_at and _shows(paper, photo)
    ]


def _shows(paper: Paper, photo: Photo) -> bool:
    confirmation = paper.confirmation or (paper.booking and paper.booking.confirmation)
    report = paper.report or (confirmation and confirmation.report)
    if report is None:
        return False
    if paper.kind == Paper.Kind.FIX_LIST and photo.item:
        return photo.item.report_id == report.pk and photo.item.trade == paper.trade
    if photo.fix:
        return paper.kind in WITH_FIXES and photo.fix.item.report_id == report.pk
    return str(photo.pk) in photo_ids(report.snapshot)

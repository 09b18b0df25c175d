"""Which rows belong to a report: what goes into the Record with it, or goes when it goes."""

from django.db.models import Model, Q

from readiness.models import Fix, Markup, Photo, SiteReport


def rows_of(report: SiteReport) -> list[Model]:
    """The report with its checks, items and fixes, and the photos that show them."""
    shows = Q(item__report=report) | Q(fix__item__report=report) | Q(run_check__report=report)
    photos = list(Photo.objects.filter(shows))
    return [
        report,
        *report.checks.all(),
        *report.items.all(),
        *Fix.objects.filter(item__report=report),
        *photos,
        *Markup.objects.filter(photo__in=photos),
    ]

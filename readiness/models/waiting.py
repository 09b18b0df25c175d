"""Which sites have waited longest: the rows of the applicator's first screen.

Grouping every open item of the business would take longer with each open site. The sites that come
first are those of the items that come first, and those stand at the start of an index.
"""

from collections.abc import Iterable

from django.db.models import F, QuerySet

from readiness.rules.vocabulary import TO_DO, Effect, ItemState

from .local_days import LocalDays
from .report import DefectItem, DefectItemQuerySet

ITEMS_READ_A_SITE = 25
"""How many items are read for each row that is wanted, before giving up on the short way."""


def to_review(days: LocalDays, at_most: int) -> list[dict]:
    """Sites with items reported fixed or disputed, the longest waiting first.

    Each row is one of `DefectItemQuerySet.counts_by_site`.
    """
    items = DefectItem.objects.current()
    disputed = items.filter(disputed_at__isnull=False, decided_at=None)
    ways = (
        items.filter(state=ItemState.REPORTED_FIXED)
        .exclude(disputed_at__isnull=False, decided_at=None)
        .order_by("state_changed_at"),
        # Not "state in": the index of items that are disputed is the one to use.
        disputed.exclude(state=ItemState.ACCEPTED).order_by("disputed_at"),
    )
    rows = _counted(DefectItem.objects.awaiting_review(), ways, days, at_most)
    return list(rows.order_by("oldest", "report__site")[:at_most])


def on_builders(days: LocalDays, at_most: int) -> list[dict]:
    """Sites with items that a builder has to fix, the first due first."""
    items = DefectItem.objects.current().filter(effect=Effect.HOLDS)
    items = items.exclude(disputed_at__isnull=False, decided_at=None)
    ways = []
    for state in TO_DO:
        of_state = items.filter(state=state)
        ways.append(of_state.filter(due_on__isnull=False).order_by("due_on"))
        ways.append(of_state.filter(due_on=None).order_by("state_changed_at"))
    rows = _counted(DefectItem.objects.awaiting_builder(), ways, days, at_most)
    first = F("first_due").asc(nulls_last=True)
    return list(rows.order_by(first, "oldest", "report__site")[:at_most])


def _counted(
    waiting: DefectItemQuerySet, ways: Iterable[DefectItemQuerySet], days: LocalDays, at_most: int
) -> QuerySet:
    """Counts by site of the waiting items: of the sites that come first, or of all."""
    reports = _first_reports(ways, at_most)
    if reports is None:
        return waiting.current().counts_by_site(days)
    return waiting.filter(report__in=reports).counts_by_site(days)


def _first_reports(ways: Iterable[DefectItemQuerySet], at_most: int) -> set | None:
    """Current reports that are sure to hold the first `at_most`; None where all must be grouped.

    A site has one current report, so that reports stand for sites.
    """
    reports = set()
    for items in ways:
        enough = at_most * ITEMS_READ_A_SITE
        found = list(items.values_list("report", flat=True)[:enough])
        if len(found) == enough and len(set(found)) < at_most:
            return None
        reports.update(list(dict.fromkeys(found))[:at_most])
    return reports

"""By when things are due: counted back from the wanted day, and never before the report."""

from datetime import date

from django.db import transaction

from readiness import clock
from readiness.actions.errors import About, Problem, Refused
from readiness.calendars import calendar_at
from readiness.facts import rule_values
from readiness.models import DefectItem, Site, SiteReport
from readiness.rules.calendar import due_date
from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.vocabulary import Effect
from readiness.wording.refusals import reporting as refusals


def today_at(site: Site) -> date:
    """The date at the site."""
    return clock.now().astimezone(site.zone).date()


def still_wanted_on(site: Site) -> date | None:
    """The day that treatment is wanted by the site's details; one that has passed is wanted no
    more.
    """
    wanted = site.treatment_wanted_on
    return wanted if wanted and wanted >= today_at(site) else None


def first_due_day(report: SiteReport) -> date:
    """The earliest day by which a thing can be due: the report is issued today or later."""
    return max(report.visited_on, today_at(report.site))


def usual_due(report: SiteReport, kind: DefectKind) -> date | None:
    """The day that the kind counts back to from the wanted day; None where none is wanted."""
    if report.treatment_wanted_on is None:
        return None
    counted_back = _counted_back(report, kind, report.treatment_wanted_on)
    return max(counted_back, first_due_day(report))


def _counted_back(report: SiteReport, kind: DefectKind, wanted_on: date) -> date:
    return due_date(wanted_on, calendar_at(report.site), kind.days_before(rule_values()))


def carried_due(report: SiteReport, item: DefectItem) -> date | None:
    """The due date of an item of the report before: a day that has passed is worked out anew."""
    if item.due_on is None or item.due_on >= first_due_day(report):
        return item.due_on
    return usual_due(report, item.kind_entry) or first_due_day(report)


def move_due_dates(report: SiteReport, wanted_before: date | None) -> list[DefectItem]:
    """Let the due dates that count back from the wanted day follow it; those set by hand stay.

    Returns the items that moved.
    """
    moved = []
    for item in report.items.exclude(effect=Effect.RECORD):
        if _counts_back(report, item, wanted_before):
            item.due_on = usual_due(report, item.kind_entry)
            moved.append(item)
    DefectItem.objects.bulk_update(moved, ["due_on"])
    return moved


def _counts_back(report: SiteReport, item: DefectItem, wanted_on: date | None) -> bool:
    if wanted_on is None or item.due_on is None:
        return item.due_on is None and wanted_on is None
    counted_back = _counted_back(report, item.kind_entry, wanted_on)
    # Counting back past the day of writing came to that day.
    was_held_up = counted_back < item.due_on and report.visited_on <= item.due_on
    return item.due_on == counted_back or (was_held_up and item.due_on <= today_at(report.site))


@transaction.atomic
def renew_due_dates(report: SiteReport) -> list[DefectItem]:
    """Work out anew what was due on days that have passed while the draft lay.

    Returns the items that changed; `reporting.renew_due_dates` is the action.
    """
    renewed = []
    for item in passed(report):
        item.due_on = usual_due(report, item.kind_entry) or first_due_day(report)
        renewed.append(item)
    DefectItem.objects.bulk_update(renewed, ["due_on"])
    return renewed


def passed(report: SiteReport) -> list[DefectItem]:
    """A draft's items that were due on days that have passed."""
    items = report.items.exclude(effect=Effect.RECORD).filter(due_on__lt=first_due_day(report))
    return list(items.select_related("wall_run").order_by("number"))


def problems_with_days(report: SiteReport) -> list[Problem]:
    """Days of a draft that have passed by the time it is to be issued."""
    problems = []
    wanted = report.treatment_wanted_on
    if wanted and wanted < today_at(report.site):
        text = refusals.wanted_day_passed(wanted)
        problems.append(Problem(text, About.REPORT, str(report.pk)))
    for item in passed(report):
        named = refusals.item(item.number, item.kind_entry.name, item.wall_run.label)
        text = refusals.item_due_passed(named, item.due_on)
        problems.append(Problem(text, About.ITEM, str(item.pk)))
    return problems


def check_due(report: SiteReport, due_on: date | None) -> list[Problem]:
    """Why a due date that was given is none: a day before the report, in words for its field."""
    first = first_due_day(report)
    if due_on is None or due_on >= first:
        return []
    if due_on < report.visited_on:
        return [Problem(refusals.due_before_visit(due_on))]
    return [Problem(refusals.due_passed(due_on))]


def check_wanted(site: Site, wanted_on: date | None) -> None:
    """Raise Refused where the day that treatment is wanted has passed."""
    if wanted_on is not None and wanted_on < today_at(site):
        raise Refused(refusals.wanted_day_passed(wanted_on))

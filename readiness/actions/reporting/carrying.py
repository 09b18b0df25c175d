"""What goes from a report's open items into the report that takes its place."""

import uuid

from readiness import clock
from readiness.actions.errors import About, Problem, Refused
from readiness.actions.reporting.due_dates import carried_due
from readiness.models import DefectItem, Fix, Markup, Photo, PhotoFlag, SiteReport
from readiness.rules.vocabulary import OPEN_STATES, Effect, ItemState
from readiness.standing import AS_IT_STANDS, follow
from readiness.wording.refusals import reporting as refusals

AS_FOUND = (
    "kind",
    "wall_run",
    "from_mm",
    "to_mm",
    "measured_value",
    "measured_from",
    "measured_uncertainty",
    "note",
    "required_fix",
    "trade",
    "effect",
    "cleaned_wet_at",
)
"""What a person enters of an item, all but the day it is due, which is counted anew."""


def carry(report: SiteReport, current: SiteReport | None, item: DefectItem, number: int):
    """Put an open item of the current report into the draft, with the photos of what was found.

    How it stands by then comes along when the draft is issued (`bring_along`): until then both
    sides go on with it in the current report.
    """
    if current is None or item.report_id != current.pk:
        raise Refused(refusals.carried_from_elsewhere())
    if item.state not in OPEN_STATES and item.effect != Effect.RECORD:
        raise Refused(refusals.nothing_to_carry(item.number))
    found = {name: getattr(item, name) for name in AS_FOUND}
    carried = DefectItem.objects.create(
        report=report,
        number=number,
        carried_from=item,
        state="" if item.effect == Effect.RECORD else ItemState.TO_FIX,
        state_changed_at=clock.now(),
        created_at=clock.now(),
        due_on=carried_due(report, item),
        **found,
    )
    _copy_photos(Photo.objects.filter(item=item), item=carried)
    return carried


def _copy_photos(photos, **shows) -> None:
    """Further uses of the same files, with what is drawn over them and what reviewers are told."""
    for photo in photos.kept().order_by("received_at"):
        marks = Markup.objects.filter(photo=photo.pk).first()
        flags = list(PhotoFlag.objects.filter(photo=photo.pk))
        photo.pk, photo._state.adding = uuid.uuid4(), True
        for name, thing in shows.items():
            setattr(photo, name, thing)
        photo.save(force_insert=True)
        if marks:  # what is blurred must stay blurred
            marks.pk, marks.photo_id, marks._state.adding = None, photo.pk, True
            marks.save(force_insert=True)
        for flag in flags:
            flag.pk, flag.photo_id, flag._state.adding = None, photo.pk, True
            flag.save(force_insert=True)


def bring_along(report: SiteReport) -> None:
    """Let a draft's carried items stand as they do in the report that it takes the place of.

    State, dispute and decision come along, and what was reported fixed with its photos, so that
    whoever answers it finds it on the new item. Called once, as the draft is issued.
    """
    for item in report.items.exclude(carried_from=None).select_related("carried_from"):
        follow(item).save(update_fields=AS_IT_STANDS)
        if item.state:
            _copy_fixes(item)


def _copy_fixes(item: DefectItem) -> None:
    for fix in Fix.objects.filter(item=item.carried_from, taken_back_at=None):
        photos = Photo.objects.filter(fix=fix.pk)
        fix.pk, fix.item, fix._state.adding = uuid.uuid4(), item, True
        fix.save(force_insert=True)
        _copy_photos(photos, fix=fix)


def problems_with_carried(report: SiteReport) -> list[Problem]:
    """What happened to items of the current report while the draft lay, and needs a person."""
    current = SiteReport.objects.current().filter(site=report.site_id).first()
    if current is None:
        return []
    carried = list(report.items.exclude(carried_from=None).select_related("carried_from"))
    problems = [
        _accepted(item) for item in carried if item.carried_from.state == ItemState.ACCEPTED
    ]
    left = current.items.awaiting_review().exclude(effect=Effect.RECORD)
    left = left.exclude(pk__in=[item.carried_from_id for item in carried])
    return problems + [_unanswered(current, item) for item in left.select_related("wall_run")]


def _accepted(item: DefectItem) -> Problem:
    named = refusals.item(item.number, item.kind_entry.name)
    return Problem(refusals.accepted_meanwhile(named), About.ITEM, str(item.pk))


def _unanswered(current: SiteReport, item: DefectItem) -> Problem:
    named = refusals.item(item.number, item.kind_entry.name, item.wall_run.label)
    why = refusals.dispute_not_decided if item.is_disputed else refusals.fix_not_reviewed
    return Problem(why(current.number, named), About.ITEM, str(item.pk))


def later_of(item: DefectItem) -> DefectItem | None:
    """The same thing in the report that counts now, if it was carried over that far."""
    while item is not None and item.report.superseded_at:
        found = DefectItem.objects.filter(carried_from=item.pk, report__issued_at__isnull=False)
        item = found.select_related("report", "wall_run").defer("report__snapshot").first()
    return item

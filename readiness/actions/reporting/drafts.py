"""Writing a report at the wall, and issuing it."""

import uuid
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Max, Q

from readiness import clock
from readiness.actions.errors import Problem, Refused
from readiness.actions.permission import require_applicator
from readiness.actions.reporting import due_dates
from readiness.actions.reporting.attaching import attach_photos, attach_to_check
from readiness.actions.reporting.carrying import AS_FOUND, carry
from readiness.actions.reporting.due_dates import (
    check_due,
    check_wanted,
    move_due_dates,
    still_wanted_on,
    usual_due,
)
from readiness.actions.reporting.rows import rows_of
from readiness.actions.sites.sites import require_open
from readiness.evidence.kept import key_of, keys_of
from readiness.evidence.record import append, lock_site
from readiness.facts import rule_values
from readiness.models import (
    DefectItem,
    Photo,
    PhotoMeasurement,
    RunCheck,
    Site,
    SiteReport,
    User,
    WallRun,
)
from readiness.models.verbs import Verb
from readiness.rules.defects.catalogue import KINDS, check_measurement, get_kind
from readiness.rules.vocabulary import Effect, ItemState
from readiness.wording.measurements import measurement
from readiness.wording.refusals import reporting as refusals

REPORT_FIELDS = ("visited_on", "treatment_wanted_on", "weather", "notes")
ITEM_FIELDS = (*AS_FOUND, "due_on")


@transaction.atomic
def start_report(
    actor: User,
    site: Site,
    *,
    visited_on: date,
    treatment_wanted_on: date | None = None,
    weather: str = "",
    notes: str = "",
    carry_over: Iterable[DefectItem] = (),
    report_id: uuid.UUID | None = None,
) -> SiteReport:
    """Start the site's draft, or return the draft that is there already.

    `carry_over` are items of the current report, still open, that go into the new one with their
    photos. A site has one draft at a time, so that two people at one wall write one report.
    """
    require_applicator(actor)
    site = lock_site(site.pk)
    draft = SiteReport.objects.drafts().filter(site=site).first()
    if draft:
        return draft
    require_open(site)
    check_wanted(site, treatment_wanted_on)
    current = SiteReport.objects.current().filter(site=site).first()
    report = SiteReport.objects.create(
        pk=report_id or uuid.uuid4(),
        site=site,
        visited_on=visited_on,
        treatment_wanted_on=treatment_wanted_on or still_wanted_on(site),
        weather=weather,
        notes=notes,
        prepared_by=actor,
        created_at=clock.now(),
        supersedes=current,
    )
    for number, item in enumerate(carry_over, 1):
        carry(report, current, item, number)
    append(site, actor, Verb.REPORT_STARTED, {"report": str(report.pk)}, rows=rows_of(report))
    return report


@transaction.atomic
def change_report(actor: User, report: SiteReport, **fields) -> SiteReport:
    """Change what stands at the head of a draft.

    Due dates that count back from the day treatment is wanted go with it; those set by hand stay.
    """
    require_applicator(actor)
    report = _locked_draft(report)
    _only(fields, REPORT_FIELDS)
    wanted_before = report.treatment_wanted_on
    if fields.get("treatment_wanted_on") != wanted_before:
        check_wanted(report.site, fields.get("treatment_wanted_on"))
    changed = [name for name, value in fields.items() if getattr(report, name) != value]
    for name in changed:
        setattr(report, name, fields[name])
    if changed:
        report.save(update_fields=changed)
        moves = "treatment_wanted_on" in changed
        moved = move_due_dates(report, wanted_before) if moves else []
        data = {"report": str(report.pk), "fields": changed}
        append(report.site, actor, Verb.REPORT_CHANGED, data, rows=[report, *moved])
    return report


@transaction.atomic
def renew_due_dates(actor: User, report: SiteReport) -> list[DefectItem]:
    """Work out anew the due dates that have passed while the draft lay; returns those items."""
    require_applicator(actor)
    report = _locked_draft(report)
    renewed = due_dates.renew_due_dates(report)
    for item in renewed:
        append(report.site, actor, Verb.ITEM_CHANGED, item_data(item), rows=[item])
    return renewed


@transaction.atomic
def drop_report(actor: User, report: SiteReport) -> None:
    """Throw a draft away. Its photos stay with the site."""
    require_applicator(actor)
    report = _locked_draft(report)
    site = report.site
    photos = _loosen(Q(item__report=report) | Q(run_check__report=report))
    measured = list(PhotoMeasurement.objects.filter(item__report=report))
    data, gone = {"report": str(report.pk)}, keys_of(rows_of(report))
    report.delete()
    append(site, actor, Verb.REPORT_DROPPED, data, rows=[*photos, *measured], gone=gone)


def _loosen(which: Q) -> list[Photo]:
    """Keep photos for the site, whose item or check goes; returns them."""
    keys = list(Photo.objects.filter(which).values_list("pk", flat=True))
    photos = Photo.objects.filter(pk__in=keys)
    photos.update(item=None, run_check=None, on_site=True)
    return list(photos)


@transaction.atomic
def check_run(
    actor: User,
    report: SiteReport,
    run: WallRun,
    *,
    note: str | None = None,
    photos: Iterable[Photo] = (),
    check_id: uuid.UUID | None = None,
) -> RunCheck:
    """Record that a wall was walked from end to end; doing it twice is one check.

    `note` and `photos` show that it was right. A later note takes the place of an earlier one,
    None leaves it; photos, of this site and belonging to nothing yet, are added.
    """
    require_applicator(actor)
    report = _locked_draft(report)
    _belongs(report, run)
    _fits_the_check(note)
    check, made = RunCheck.objects.get_or_create(
        report=report,
        wall_run=run,
        defaults={
            "id": check_id or uuid.uuid4(),
            "checked_at": clock.now(),
            "checked_by": actor,
            "note": note or "",
        },
    )
    data = {"report": str(report.pk), "wall": str(run.pk)}
    if made:
        said = {"note": check.note}
        append(report.site, actor, Verb.RUN_CHECKED, data, rows=[check], said=said)
    elif note is not None and note != check.note:
        check.note = note
        check.save(update_fields=["note"])
        said = {"note": note}
        append(report.site, actor, Verb.RUN_CHECK_NOTED, data, rows=[check], said=said)
    attach_to_check(actor, report.site, check, photos)
    return check


def _fits_the_check(note: str | None) -> None:
    longest = RunCheck._meta.get_field("note").max_length
    if note and len(note) > longest:
        raise Refused(refusals.note_too_long(len(note), longest))


@transaction.atomic
def uncheck_run(actor: User, report: SiteReport, run: WallRun) -> None:
    """Take back the check of a wall."""
    require_applicator(actor)
    report = _locked_draft(report)
    check = RunCheck.objects.filter(report=report, wall_run=run).first()
    if check is None:
        return
    photos, gone = _loosen(Q(run_check=check)), [key_of(check)]
    check.delete()
    data = {"report": str(report.pk), "wall": str(run.pk)}
    append(report.site, actor, Verb.RUN_UNCHECKED, data, rows=photos, gone=gone)


@transaction.atomic
def add_item(
    actor: User,
    report: SiteReport,
    *,
    kind: str,
    wall_run: WallRun,
    item_id: uuid.UUID | None = None,
    photos: Iterable[Photo] = (),
    **fields,
) -> DefectItem:
    """Add an item to a draft. What is not given comes from the kind; one `item_id` is one item.

    `photos` are photos of this site that belong to nothing yet.
    """
    require_applicator(actor)
    report = _locked_draft(report)
    _belongs(report, wall_run)
    _only(fields, ITEM_FIELDS)
    known = DefectItem.objects.filter(pk=item_id).first() if item_id else None
    if known:
        if known.report_id != report.pk:
            raise Refused(refusals.item_of_another_report())
        return known
    if kind not in KINDS:
        raise Refused(refusals.kind_gone())
    filled = {**item_defaults(report, kind, fields), **fields}
    item = DefectItem(
        pk=item_id or uuid.uuid4(),
        report=report,
        number=_next_number(report),
        kind=kind,
        wall_run=wall_run,
        created_at=clock.now(),
        **filled,
    )
    _settle_state(item)
    _check_item(item, check_due(report, item.due_on))
    item.save(force_insert=True)
    attach_photos(actor, item, photos)
    append(report.site, actor, Verb.ITEM_ADDED, item_data(item), rows=[item])
    return item


def item_defaults(report: SiteReport, kind: str, fields: dict) -> dict:
    """What the kind fills in by itself: required fix, trade, effect and due date."""
    entry = get_kind(kind)
    defaults: dict[str, Any] = {
        "required_fix": entry.required_fix(
            rule_values(),
            measured=fields.get("measured_value"),
            from_mm=fields.get("from_mm"),
            to_mm=fields.get("to_mm"),
        ),
        "trade": entry.trade,
        "effect": entry.effect,
    }
    if report.treatment_wanted_on and fields.get("effect", entry.effect) != Effect.RECORD:
        defaults["due_on"] = usual_due(report, entry)
    return defaults


@transaction.atomic
def change_item(
    actor: User, item: DefectItem, *, photos: Iterable[Photo] = (), **fields
) -> DefectItem:
    """Change an item of a draft; `photos` are added to those it has."""
    require_applicator(actor)
    _only(fields, ITEM_FIELDS)
    report = _locked_draft(item.report)
    item = DefectItem.objects.select_related("report", "wall_run").get(pk=item.pk)
    if "wall_run" in fields:
        _belongs(report, fields["wall_run"])
    due_before = item.due_on
    for name, value in fields.items():
        setattr(item, name, value)
    _settle_state(item)
    # A date that passed while the draft lay is said before issuing, not at every change.
    _check_item(item, [] if item.due_on == due_before else check_due(report, item.due_on))
    item.save()
    attach_photos(actor, item, photos)
    append(report.site, actor, Verb.ITEM_CHANGED, item_data(item), rows=[item])
    return item


@transaction.atomic
def remove_item(actor: User, item: DefectItem) -> None:
    """Take an item out of a draft. Its photos stay with the site."""
    require_applicator(actor)
    report = _locked_draft(item.report)
    photos, measured = _loosen(Q(item=item)), list(PhotoMeasurement.objects.filter(item=item))
    data, gone = {"item": str(item.pk), "number": item.number}, [key_of(item)]
    DefectItem.objects.filter(pk=item.pk).delete()
    append(report.site, actor, Verb.ITEM_REMOVED, data, rows=[*photos, *measured], gone=gone)


def item_data(item: DefectItem) -> dict:
    """What the Record keeps of an item."""
    return {
        "item": str(item.pk),
        "report": str(item.report_id),
        "number": item.number,
        "kind": item.kind,
        "wall": str(item.wall_run_id),
        "effect": item.effect,
        "measured": item.measured_value,
    }


def _locked_draft(report: SiteReport) -> SiteReport:
    lock_site(report.site_id)
    report = SiteReport.objects.select_related("site", "site__builder").get(pk=report.pk)
    if not report.is_draft:
        raise Refused(refusals.report_is_issued(report.number))
    return report


def _belongs(report: SiteReport, run: WallRun) -> None:
    if run.site_id != report.site_id:
        raise Refused(refusals.wall_of_another_site())


def _only(fields: dict, allowed: tuple[str, ...]) -> None:
    unknown = set(fields) - set(allowed)
    if unknown:
        raise TypeError(f"Can't be set here: {', '.join(sorted(unknown))}")


def _settle_state(item: DefectItem) -> None:
    state = "" if item.effect == Effect.RECORD else ItemState.TO_FIX
    if item.state != state:
        item.state, item.state_changed_at = state, clock.now()


def _check_item(item: DefectItem, problems: list[Problem]) -> None:
    length = item.wall_run.length_mm
    for place in (item.from_mm, item.to_mm):
        if place is not None and place > length:
            problems.append(Problem(refusals.past_the_end(place, item.wall_run.label, length)))
    if item.to_mm is not None and (item.from_mm is None or item.to_mm < item.from_mm):
        problems.append(Problem(refusals.end_before_start()))
    check = check_measurement(item.kind_entry, item.measured_value, rule_values())
    if check and not check.believable:
        problems.append(Problem(measurement(check)))
    if problems:
        raise Refused(problems)


def _next_number(report: SiteReport) -> int:
    return (report.items.aggregate(last=Max("number"))["last"] or 0) + 1

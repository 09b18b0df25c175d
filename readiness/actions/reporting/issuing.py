"""Issuing a report: nothing missing, then frozen, numbered, and on its way to the builder."""

from collections.abc import Collection

from django.db import transaction
from django.db.models import Max

from readiness import clock
from readiness.actions import anchoring
from readiness.actions.errors import About, Problem, Refused
from readiness.actions.papers import asking
from readiness.actions.permission import require_applicator
from readiness.actions.reporting.carrying import bring_along, problems_with_carried
from readiness.actions.reporting.due_dates import problems_with_days
from readiness.actions.reporting.rows import rows_of
from readiness.evidence.record import append, lock_site
from readiness.facts import rule_values, walls_of
from readiness.messages import outbox
from readiness.models import BuilderContact, DefectItem, Photo, SiteReport, User
from readiness.models.verbs import Verb
from readiness.rules.vocabulary import Effect
from readiness.snapshots import report_snapshot, snapshot_digest
from readiness.wording.refusals import reporting as refusals


def problems_before_issue(report: SiteReport) -> list[Problem]:
    """Everything that keeps a draft from being issued, each with what to go to."""
    walls = walls_of(report.site)
    if not walls:
        return [
            Problem(refusals.no_walls(), About.SITE, str(report.site_id)),
        ]
    checked = set(map(str, report.checks.values_list("wall_run_id", flat=True)))
    problems = [
        Problem(refusals.wall_not_checked(wall.label), About.RUN, wall.id)
        for wall in walls
        if wall.reachable_mm and wall.id not in checked
    ]
    items = report.items.select_related("wall_run").order_by("number")
    with_photo = set(
        Photo.objects.kept().filter(item__report=report).values_list("item_id", flat=True)
    )
    for item in items:
        problems += _item_problems(item, item.pk in with_photo)
    return [*problems, *problems_with_days(report), *problems_with_carried(report)]


def _item_problems(item: DefectItem, has_photo: bool) -> list[Problem]:
    kind = item.kind_entry
    named = refusals.item(item.number, kind.name, item.wall_run.label)
    lacks_photo = not has_photo and kind.needs_photo and item.effect == Effect.HOLDS
    to_measure = kind.measurement if kind.measurement_required else None
    measurement = to_measure.label if to_measure and item.measured_value is None else ""
    lacks_fix = not item.required_fix.strip()
    problems = []
    if lacks_photo or measurement or lacks_fix:
        text = refusals.item_incomplete(
            named, photo=lacks_photo, measurement=measurement, fix=lacks_fix
        )
        problems.append(Problem(text, About.ITEM, str(item.pk)))
    if item.wall_run.removed_at:
        text = refusals.item_on_removed_wall(named)
        problems.append(Problem(text, About.ITEM, str(item.pk)))
    return problems


@transaction.atomic
def issue_report(
    actor: User, report: SiteReport, *, notify: Collection[BuilderContact] = ()
) -> SiteReport:
    """Freeze a draft, give it the next number, and tell the chosen contacts once its papers exist.

    Raises Refused with a Problem for each thing that is missing. Issuing twice is one issue.
    """
    require_applicator(actor)
    site = lock_site(report.site_id)
    report = SiteReport.objects.select_related("supersedes").get(pk=report.pk)
    if not report.is_draft:
        return report
    problems = problems_before_issue(report)
    if any(contact.builder_id != site.builder_id for contact in notify):
        problems.append(Problem(refusals.told_of_another_builder()))
    if problems:
        raise Refused(problems)
    now = clock.now()
    bring_along(report)
    current = SiteReport.objects.current().filter(site=site).first()
    if current:
        SiteReport.objects.filter(pk=current.pk).update(superseded_at=now)
    last = SiteReport.objects.filter(site=site).aggregate(last=Max("number"))["last"] or 0
    report.number, report.issued_at, report.issued_by = last + 1, now, actor
    report.supersedes = current
    report.rule_values = rule_values().as_dict()
    report.snapshot = report_snapshot(report)
    report.digest = snapshot_digest(report.snapshot)
    report.save()
    if current:
        data = {"report": str(current.pk), "by": report.number}
        append(site, actor, Verb.REPORT_SUPERSEDED, data, rows=[current])
    append(
        site,
        actor,
        Verb.REPORT_ISSUED,
        {
            "report": str(report.pk),
            "number": report.number,
            "sha256": report.digest,
            "items": report.items.count(),
        },
        rows=rows_of(report),
    )
    anchoring.checkpoint_after(anchoring.Reason.ISSUED)
    asking.queue_report_papers(report)
    outbox.report_issued(report, notify)
    return report

"""Writing a report at the wall: starting it, checking walls, its head, dropping it."""

from uuid import UUID

from django.contrib import messages
from django.db.models import Prefetch
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.reports.forms import CarryOverForm, ReportHeadForm, ShownRightForm
from portal.office.sites.views import get_site
from portal.photos.forms import handle_uploads
from portal.plan import VISIT_WORDS, plan_of, visit_status
from portal.requests.access import applicator_required
from portal.requests.ids import client_id
from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts
from readiness.actions.sites.sites import current_runs
from readiness.facts import referral_facts, run_outline
from readiness.models import Photo, Referral, Site, SiteReport, WallRun
from readiness.rules.site.facts import with_bars
from readiness.wording.refusals import reporting


def get_report(request, pk) -> SiteReport:
    """The report, if this person may see it; 404 otherwise."""
    reports = SiteReport.objects.visible_to(request.user).select_related("site__builder")
    return get_object_or_404(reports.defer("snapshot"), pk=pk)


@applicator_required
def report_start(request, pk):
    """Start the site's report, or go on with the draft that is there."""
    site = get_site(request, pk)
    draft = site.reports.drafts().first()
    if draft:
        return redirect("office:report", draft.pk)
    if not current_runs(site).exists():
        messages.warning(request, _("Enter the walls first: a report is written wall by wall."))
        return redirect("office:walls", pk)
    current = site.reports.current().first()
    head = ReportHeadForm(request.POST or None, site=site)
    carry = CarryOverForm(request.POST or None, report=current)
    report_id = client_id(request.POST.get("report_id"))
    if request.method == "POST" and head.is_valid() and carry.is_valid():
        try:
            report = drafts.start_report(
                request.user,
                site,
                carry_over=carry.cleaned_data["carry_over"],
                report_id=report_id,
                **head.cleaned_data,
            )
        except Refused as refused:
            refusals.add_to_form(head, refused, site)
        else:
            return redirect("office:report", report.pk)
    context = {
        "site": site,
        "form": head,
        "carry": carry,
        "current": current,
        "report_id": report_id,
    }
    return render(request, "portal/office/reports/report_start.html", context)


@applicator_required
def report(request, pk):
    """The report, wall by wall: to be worked on while a draft, to be read once issued."""
    found = get_report(request, pk)
    context = {
        "report": found,
        "site": found.site,
        "saved": request.GET.get("saved", ""),
        "termites": found.site.referrals.keeping_closed() if found.is_draft else (),
        **_so_far(found, wall_cards(found)),
    }
    page = "report" if found.is_draft else "report_issued"
    return render(request, f"portal/office/reports/{page}.html", context)


def _so_far(found: SiteReport, cards: list[dict]) -> dict:
    """The walls with what is on them: their cards, the plan, and the two counts."""
    items = [item for card in cards for item in card["items"]]
    checked = {card["run"].pk for card in cards if card["check"]}
    runs = [card["run"] for card in cards if not card["run"].removed_at]
    barred = {card["run"].pk for card in cards if card["is_barred"]}
    plan = plan_of(
        runs,
        items=items,
        status=visit_status(runs, items, checked, barred),
        status_words=VISIT_WORDS,
        url_of=_plan_links(found),
        title=_plan_title(found),
    )
    return {
        "cards": cards,
        "plan": plan,
        "checked_count": len(checked),
        "barred_count": len(barred - checked),
        "item_count": len(items),
    }


def _plan_title(found: SiteReport) -> str:
    if found.is_draft:
        return _("Plan: tap a wall to add an item")
    return _("Plan: tap a wall to see its items")


def _plan_links(found: SiteReport):
    if found.is_draft:
        page = reverse("office:item_new", args=[found.pk])
        return lambda run: f"{page}?wall={run.pk}"
    return lambda run: f"#wall-{run.pk}"


def wall_cards(found: SiteReport) -> list[dict]:
    """Each wall of the report with its check and its items, in order round the house."""
    items, checks = {}, {}
    for item in found.items.select_related("wall_run", "carried_from__report").prefetch_related(
        "photos"
    ):
        items.setdefault(item.wall_run, []).append(item)
    shown = Prefetch("photos", Photo.objects.kept().with_originals())
    for check in found.checks.select_related("wall_run").prefetch_related(shown):
        checks[check.wall_run] = check
    runs = list(current_runs(found.site)) if found.is_draft else []
    others = sorted({*items, *checks} - set(runs), key=lambda run: run.position)
    barred = _barred(found.site) if found.is_draft else {}
    return [
        {
            "run": run,
            "check": checks.get(run),
            "items": items.get(run, []),
            "barred": barred.get(run.pk, []),
            "is_barred": _is_barred(run, barred.get(run.pk, [])),
        }
        for run in runs + others
    ]


def _barred(site: Site) -> dict[UUID, list[Referral]]:
    """What nobody can reach, by the wall's id, as far as no decision says otherwise."""
    barred: dict[UUID, list[Referral]] = {}
    for referral in Referral.objects.with_outcome().filter(site=site, wall_run__isnull=False):
        if referral_facts(referral).bars_wall:
            barred.setdefault(referral.wall_run_id, []).append(referral)
    return barred


def _is_barred(run: WallRun, referrals: list[Referral]) -> bool:
    """Whether nobody can reach any of a wall: then it is not asked to be checked."""
    facts = [referral_facts(referral) for referral in referrals]
    return not with_bars((run_outline(run),), facts)[0].reachable_mm


@applicator_required
@require_POST
def run_check(request, pk, run_id):
    """Record that a wall was walked from end to end, or take that back."""
    found = get_report(request, pk)
    run = get_object_or_404(current_runs(found.site), pk=run_id)
    try:
        if request.POST.get("checked") == "no":
            drafts.uncheck_run(request.user, found, run)
        else:
            drafts.check_run(
                request.user, found, run, check_id=client_id(request.POST.get("check_id"))
            )
    except Refused as refused:
        refusals.say(request, refused, found.site)
    if request.htmx:
        cards = wall_cards(found)
        context = {
            "report": found,
            "site": found.site,
            "card": next(card for card in cards if card["run"] == run),
            "swapped": True,
            **_so_far(found, cards),
        }
        return render(request, "portal/office/reports/_wall_card.html", context)
    return redirect(f"{reverse('office:report', args=[pk])}#wall-{run_id}")


@applicator_required
def run_shown(request, pk, run_id):
    """Show that a wall was right: a note and photos of its check, which is made if need be."""
    found = get_report(request, pk)
    run = get_object_or_404(current_runs(found.site), pk=run_id)
    page = f"{reverse('office:report', args=[pk])}#wall-{run_id}"
    if not found.is_draft and request.method != "POST":
        messages.error(request, reporting.report_is_issued(found.number))
        return redirect(page)
    check = found.checks.filter(wall_run=run).first()
    form = ShownRightForm(request.POST or None, initial={"note": check.note if check else ""})
    photos, photo_errors = [], []
    if request.method == "POST":
        photos, photo_errors = handle_uploads(request, found.site)
        if form.is_valid() and not photo_errors:
            note = form.cleaned_data["note"]
            try:
                drafts.check_run(request.user, found, run, note=note, photos=photos)
            except Refused as refused:
                refusals.add_to_form(form, refused, found.site)
            else:
                said = _("%(wall)s checked. Your note and photos are saved.") % {"wall": run.label}
                messages.success(request, said)
                return redirect(page)
    context = {
        "report": found,
        "site": found.site,
        "run": run,
        "form": form,
        "photos": photos,
        "photo_errors": photo_errors,
        "attached": check.photos.kept().with_originals() if check else [],
        "back": page,
    }
    return render(request, "portal/office/reports/run_shown.html", context)


@applicator_required
def report_head(request, pk):
    """Change the day of the visit, the weather, the day that treatment is wanted."""
    found = get_report(request, pk)
    form = ReportHeadForm(request.POST or None, instance=found, site=found.site)
    if request.method == "POST" and form.is_valid():
        try:
            drafts.change_report(request.user, found, **form.cleaned_data)
        except Refused as refused:
            refusals.add_to_form(form, refused, found.site)
        else:
            return redirect("office:report", pk)
    context = {"form": form, "report": found, "site": found.site}
    return render(request, "portal/office/reports/report_head.html", context)


@applicator_required
@require_POST
def report_drop(request, pk):
    """Delete the draft; its photos stay with the site."""
    found = get_report(request, pk)
    try:
        drafts.drop_report(request.user, found)
        messages.success(request, _("Draft deleted. Its photos stay with the site."))
    except Refused as refused:
        refusals.say(request, refused, found.site)
    return redirect("office:site", found.site_id)

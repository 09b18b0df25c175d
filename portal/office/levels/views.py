"""Levels of the walls: entering them, the answer while typing, items from shortfalls."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.levels.answer import Answer, answer_of
from portal.office.levels.entry import LevelsEntry
from portal.office.sites.views import get_site
from portal.requests import whole_form
from portal.requests.access import applicator_required
from readiness.actions.errors import Refused
from readiness.actions.reporting.proposals import add_all_proposed, add_proposed_items
from readiness.actions.sites.sites import set_levels
from readiness.facts import rule_values, run_facts, walls_of
from readiness.models import DefectItem, Site, SiteReport, WallRun
from readiness.rules.band.levels import walls_beside
from readiness.rules.words import metres

ADD, NEXT = "add", "next"


def get_run(request, pk) -> WallRun:
    """The wall run, if this person may see its site; 404 otherwise."""
    sites = Site.objects.visible_to(request.user)
    found = WallRun.objects.filter(site__in=sites, removed_at=None)
    return get_object_or_404(found.select_related("site__builder"), pk=pk)


@applicator_required
def site_levels(request, pk):
    """All walls of a site: what their levels say, and which are still to measure.

    Posted to, it takes everything that the levels propose over into the draft report.
    """
    site, values = get_site(request, pk), rule_values()
    if request.method == "POST":
        return _all_taken_over(request, site)
    draft, items = _report_of(site)
    runs = list(site.wall_runs.filter(removed_at=None))
    walls = walls_of(site, run_facts)
    answer = partial(
        answer_of, values=values, walls=walls, soil_class=site.soil_class, draft=draft, items=items
    )  # fmt: skip
    answers = [(run, answer(wall)) for run, wall in zip(runs, walls, strict=True)]
    to_add = sum(len(answer.to_add) for _, answer in answers)
    context = {"site": site, "answers": answers, "to_add": to_add}
    return render(request, "portal/office/levels/site.html", context)


def _all_taken_over(request, site: Site):
    """Add what the levels of all walls propose, and lead to the report that asks for photos."""
    try:
        added = add_all_proposed(request.user, site)
    except Refused as refused:
        refusals.say(request, refused, site)
        return redirect("office:levels", site.pk)
    messages.success(request, _added_words(added))
    return redirect("office:report", added[0].report_id)


@applicator_required
def run_levels(request, pk):
    """Enter what was measured on one wall; nothing typed is lost when something can't be used."""
    stored, values = get_run(request, pk), rule_values()
    is_sent = request.method == "POST"
    if is_sent and whole_form.is_complete(request.POST):
        entry = LevelsEntry(stored, values, request.POST)
        answer = _answer(stored, entry, values)
        if not entry.changes_rows and entry.is_valid() and not answer.problems:
            return _saved(request, stored, entry)
    else:
        entry = LevelsEntry(stored, values, like=_measured_before(stored))
        if is_sent:
            entry = entry.filled_up(request.POST)
            messages.warning(request, whole_form.NOT_WHOLE)
        answer = _answer(stored, entry, values)
    context = {
        "site": stored.site,
        "stored": stored,
        "length": metres(stored.length_mm),
        "entry": entry,
        "answer": answer,
        "next": _next_run(stored),
        "errors": _errors(entry, answer) if is_sent else [],
    }
    return render(request, "portal/office/levels/run.html", context)


@applicator_required
@require_POST
def run_levels_check(request, pk):
    """The answer to what is typed so far, for the page to show while typing."""
    stored, values = get_run(request, pk), rule_values()
    answer = _answer(stored, LevelsEntry(stored, values, request.POST), values)
    context = {"answer": answer, "stored": stored, "live": True}
    return render(request, "portal/office/levels/_answer.html", context)


def _answer(stored: WallRun, entry: LevelsEntry, values) -> Answer:
    draft, items = _report_of(stored.site)
    walls = walls_of(stored.site, run_facts)
    barred = next((wall.out_of_reach for wall in walls if wall.id == entry.run.id), ())
    run = replace(entry.run, out_of_reach=barred)
    return answer_of(
        run,
        values,
        walls=walls_beside(run, walls),
        soil_class=stored.site.soil_class,
        typed_problems=entry.problems,
        draft=draft,
        items=items,
    )


def _report_of(site: Site) -> tuple[SiteReport | None, list[DefectItem]]:
    """The draft, and the items to show on drawings: its own, or the current report's."""
    draft = site.reports.drafts().first()
    shown = draft or site.reports.current().first()
    return draft, list(shown.items.all()) if shown else []


def _measured_before(run: WallRun) -> WallRun | None:
    """The wall of this house that was measured last, with the same finish."""
    return (
        WallRun.objects.filter(site=run.site, removed_at=None, finish=run.finish)
        .exclude(levels={})
        .exclude(pk=run.pk)
        .order_by("-levels_changed_at")
        .first()
    )


def _next_run(run: WallRun) -> WallRun | None:
    following = WallRun.objects.filter(site=run.site, removed_at=None, position__gt=run.position)
    return following.order_by("position").first()


def _errors(entry: LevelsEntry, answer: Answer) -> list[tuple[str, str]]:
    """Every problem with the place on the page to go to."""
    found = [(part.sentence, f"section-{part.section}") for part in answer.problems]
    for name, wrong in entry.form.errors.items():
        label = entry.form.fields[name].label if name in entry.form.fields else ""
        target = entry.form[name].id_for_label if label else "section-brick"
        found += [(f"{label}: {text}" if label else str(text), target) for text in wrong]
    for name, rows in entry.rows.items():
        found += [(str(text), f"section-{name}") for text in rows.non_form_errors()]
        for number, row in enumerate(rows.forms, start=1):
            for field, wrong in row.errors.items():
                label = f"{_(_ROW_NAMES[name])} {number}, {row.fields[field].label}"
                found += [(f"{label}: {text}", row[field].id_for_label) for text in wrong]
    return found


_ROW_NAMES = {
    "ground": later("Ground today, point"), "finished": later("Finished ground, point"),
    "finishes": later("Finish to come"), "struck": later("Struck joint, step"),
    "joints": later("Joint"), "attachments": later("Attachment"), "openings": later("Opening"),
    "weeps": later("Weep holes, row"),
}  # fmt: skip


def _saved(request, stored: WallRun, entry: LevelsEntry):
    run = set_levels(request.user, stored, entry.run.levels_as_dict())
    if ADD in request.POST:
        _add_items(request, run)
    else:
        messages.success(request, _("Levels of %(wall)s saved.") % {"wall": run.label})
    following = _next_run(run) if NEXT in request.POST else None
    if NEXT in request.POST and following is None:
        return redirect("office:levels", run.site_id)
    return redirect("office:run_levels", (following or run).pk)


def _add_items(request, run: WallRun) -> None:
    try:
        added = add_proposed_items(request.user, run, request.POST.getlist(ADD))
    except Refused as refused:
        refusals.say(request, refused, run.site)
        return
    messages.success(request, _added_words(added))


def _added_words(added: list[DefectItem]) -> SafeString:
    """How many items were added, each with its link, and that photos are still to come."""
    links = format_html_join(
        ", ",
        '<a href="{}">{} {}</a>',
        ((reverse("office:item", args=[item.pk]), _("item"), item.number) for item in added),
    )
    count = ngettext("%(count)d item", "%(count)d items", len(added)) % {"count": len(added)}
    said = _("{count} added to the draft report: {links}. Add a photo of each.")
    return format_html(said, count=count, links=links)

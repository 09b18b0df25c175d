"""The walls round a house: entering, reordering, copying, and the plan while typing."""

from django.contrib import messages
from django.forms import BaseFormSet
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.sites.views import get_site
from portal.office.walls.forms import (
    PREFIX,
    FacingForm,
    WallRows,
    blank_rows,
    raw_rows,
    rearranged,
    rows_of,
    runs_as_typed,
)
from portal.plan import live_plan_of
from portal.requests import whole_form
from portal.requests.access import applicator_required
from portal.requests.ids import as_uuid
from readiness.actions.errors import Refused
from readiness.actions.sites import sites as actions
from readiness.models import Site, WallRun
from readiness.rules.words import listed

REARRANGE = "rearrange"
SEEN = "seen"
MOST_COPIES_OFFERED = 4


@applicator_required
def walls(request, pk):
    """Enter, change, reorder and take away walls; nothing is stored before Save."""
    site = get_site(request, pk)
    runs = list(actions.current_runs(site))
    facing = FacingForm(request.POST or None)
    typed = _typed(request, runs)
    if request.method != "POST":
        rows = _rows_at_first(runs)
    elif not whole_form.is_complete(request.POST):
        rows = WallRows(prefix=PREFIX, initial=typed)
        messages.warning(request, whole_form.NOT_WHOLE)
    elif REARRANGE in request.POST:
        rows = WallRows(prefix=PREFIX, initial=typed)
    else:
        rows = WallRows(request.POST, prefix=PREFIX)
        unseen = _unseen(request, runs)
        if unseen:
            rows = WallRows(prefix=PREFIX, initial=typed + rows_of(unseen))
            messages.warning(request, _added_meanwhile(unseen))
        elif rows.is_valid() and facing.is_valid() and _saved(request, site, rows, facing):
            return redirect(_after_saving(site))
    faces = request.POST.get("first_faces", "")
    context = {
        "site": site,
        "rows": rows,
        "facing": facing,
        "seen": ",".join(str(run.pk) for run in runs),
        "plan": live_plan_of(runs_as_typed(typed, faces) if request.method == "POST" else runs),
        "sources": [] if runs else _sources(site),
        "blank_row": WallRows(prefix=PREFIX).empty_form,
    }
    return render(request, "portal/office/walls/walls.html", context)


def _typed(request, runs) -> list[dict]:
    """The rows as they were sent, put in the order that was asked for; none if nothing was sent."""
    if request.method != "POST":
        return []
    if not whole_form.is_complete(request.POST):
        return raw_rows(whole_form.filled_up(request.POST, _rows_at_first(runs)))
    rows = raw_rows(request.POST)
    wish = request.POST.get(REARRANGE)
    return rearranged(rows, wish) if wish is not None else rows


def _rows_at_first(runs) -> BaseFormSet:
    """The rows of a page that is newly opened."""
    return WallRows(prefix=PREFIX, initial=rows_of(runs) or blank_rows())


def _unseen(request, runs) -> list[WallRun]:
    """Walls added elsewhere since the page was opened: saving it must not take them away."""
    if SEEN not in request.POST:
        return []
    seen = {*request.POST[SEEN].split(","), *(row["id"] for row in raw_rows(request.POST))}
    return [run for run in runs if str(run.pk) not in seen]


def _added_meanwhile(unseen: list[WallRun]) -> str:
    names = listed(run.label for run in unseen)
    said = _(
        "Not saved yet. Somebody added %(names)s since you opened this page, now last in the list. "
        "Check, then save."
    )
    return said % {"names": names}


def _saved(request, site, rows, facing) -> bool:
    try:
        kept = actions.set_wall_runs(
            request.user, site, rows.entries(facing.cleaned_data["first_faces"])
        )
    except Refused as refused:
        refusals.say(request, refused, site)
        return False
    said = ngettext("%(count)d wall saved.", "%(count)d walls saved.", len(kept))
    messages.success(request, said % {"count": len(kept)})
    return True


def _after_saving(site) -> str:
    """Back to the report that is being written, if that is where the person came from."""
    draft = site.reports.drafts().first()
    if draft:
        return reverse("office:report", args=[draft.pk])
    return reverse("office:site", args=[site.pk])


@applicator_required
@require_POST
def walls_plan(request, pk):
    """The plan of the walls as typed so far, for the page to show while typing."""
    get_site(request, pk)
    runs = runs_as_typed(raw_rows(request.POST), request.POST.get("first_faces", ""))
    return render(request, "portal/_plan.html", {"plan": live_plan_of(runs), "live": True})


def _sources(site: Site):
    """Sites of the same house type whose walls can be copied."""
    return Site.objects.alike(site)[:MOST_COPIES_OFFERED]


@applicator_required
@require_POST
def walls_copy(request, pk):
    """Copy the walls of another site."""
    site = get_site(request, pk)
    source = get_object_or_404(
        Site.objects.visible_to(request.user), pk=as_uuid(request.POST.get("source"))
    )
    try:
        copies = actions.copy_wall_runs(request.user, site, source)
        said = ngettext(
            "%(count)d wall copied from %(site)s. Walk round the house and check.",
            "%(count)d walls copied from %(site)s. Walk round the house and check.",
            len(copies),
        )
        messages.success(request, said % {"count": len(copies), "site": source})
    except Refused as refused:
        refusals.say(request, refused, site)
    return redirect("office:walls", pk)

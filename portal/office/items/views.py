"""One thing found on a wall: pick the wall, pick the kind, fill in one form."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from portal.forms import refusals
from portal.office.items.forms import ItemForm, live_check
from portal.office.reports.views import get_report
from portal.photos.forms import handle_uploads
from portal.plan import plan_of
from portal.requests.access import applicator_required
from portal.requests.ids import client_id
from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts
from readiness.actions.reporting.carrying import later_of
from readiness.actions.sites.sites import current_runs
from readiness.models import DefectItem
from readiness.papers.drawings.kinds import kind_svg
from readiness.rules.defects.catalogue import GROUPS, KINDS, OFTEN
from readiness.rules.vocabulary import KIND_GROUPS, ItemState, KindGroup
from readiness.wording.cautions import caution
from readiness.wording.refusals import reporting
from readiness.wording.saying import Tone

ANOTHER = "another"


def get_item(request, pk) -> DefectItem:
    """The item, if this person may see it; 404 otherwise."""
    items = DefectItem.objects.visible_to(request.user).select_related(
        "report__site__builder", "wall_run", "carried_from__report"
    )
    return get_object_or_404(items.defer("report__snapshot"), pk=pk)


@applicator_required
def item_new(request, pk):
    """Three steps, each its own page: which wall, what kind, and the form."""
    report = get_report(request, pk)
    if not report.is_draft and request.method != "POST":
        messages.error(request, reporting.report_is_issued(report.number))
        return redirect("office:report", pk)
    wall = _wall(request, report)
    kind = KINDS.get(request.GET.get("kind", ""))
    if wall is None and (kind is None or request.method != "POST"):
        return _pick_wall(request, report)
    if kind is None:
        return _pick_kind(request, report, wall)
    item_id = client_id(request.POST.get("item_id"))
    item = report.items.filter(pk=item_id).first()
    return _item_form(request, report, kind, item_id, wall=wall, item=item, is_new=True)


def _wall(request, report):
    wanted = request.GET.get("wall", "")
    return next((run for run in current_runs(report.site) if str(run.pk) == wanted), None)


def _pick_wall(request, report):
    runs = list(current_runs(report.site))
    page = reverse("office:item_new", args=[report.pk])
    context = {
        "report": report,
        "site": report.site,
        "runs": runs,
        "plan": plan_of(
            runs,
            items=report.items.all(),
            url_of=lambda run: f"{page}?wall={run.pk}",
            title=_("Plan: tap the wall"),
        ),
    }
    return render(request, "portal/office/items/item_wall.html", context)


def _pick_kind(request, report, wall):
    context = {"report": report, "site": report.site, "wall": wall, **_tiles()}
    return render(request, "portal/office/items/item_kind.html", context)


def _tiles() -> dict:
    """The kinds that are found most often, the others by group, and what is in no list."""
    tiles = {slug: {"kind": kind, "drawing": drawing_of(kind)} for slug, kind in KINDS.items()}
    often = [tiles.pop(slug) for slug in OFTEN if slug in tiles]
    groups = {
        group: [tiles[kind.slug] for kind in kinds if kind.slug in tiles]
        for group, kinds in GROUPS.items()
    }
    other = groups.pop(KindGroup.OTHER)
    named = [(KIND_GROUPS[group], found) for group, found in groups.items() if found]
    return {"often": often, "groups": named, "other": other}


def drawing_of(kind) -> str:
    """The kind's own small drawing, safe to put into a page: the project drew it itself."""
    return mark_safe(kind_svg(kind.drawing_key))  # noqa: S308


def _item_form(request, report, kind, item_id, *, wall=None, item=None, is_new=False):
    """The form, saved or shown again with everything that was typed and sent."""
    form = ItemForm(request.POST or None, report=report, kind=kind, item=item, wall=wall)
    photos, photo_errors = [], []
    if request.method == "POST":
        photos, photo_errors = handle_uploads(request, report.site)
        if form.is_valid() and not photo_errors:
            saved = _save(request, report, form, item, item_id, photos)
            if saved:
                return redirect(_after_saving(request, report, saved))
    context = {
        "report": report,
        "site": report.site,
        "form": form,
        "kind": kind,
        "drawing": drawing_of(kind),
        "cautions": [caution(code) for code in kind.cautions],
        "item": item,
        "item_id": item_id,
        "is_new": is_new,
        "keep": _keep_as(report, kind, wall, item, is_new),
        "wall": wall,
        "photos": photos,
        "photo_errors": photo_errors,
        "attached": item.photos.kept().with_originals() if item else [],
        **_first_check(form, kind),
    }
    return render(request, "portal/office/items/item_form.html", context)


def _keep_as(report, kind, wall, item, is_new) -> str:
    """Under what name the browser keeps what is typed until it is saved."""
    if not is_new:
        return f"item:{item.pk}"
    return f"new:{report.pk}:{wall.pk if wall else ''}:{kind.slug}"


def _first_check(form, kind) -> dict:
    """The check of what the form shows, so that it is right without JavaScript as well."""
    shown = {
        name: form[name].value() if name in form.fields else None
        for name in ("measured_value", "from_mm", "to_mm")
    }
    return live_check(kind.slug, {name: value for name, value in shown.items() if value})


def _save(request, report, form, item, item_id, photos):
    """Add the item, or change it if it is there: the same form sent twice is one item."""
    fields = form.fields_for_action
    try:
        if item:
            return drafts.change_item(request.user, item, photos=photos, **fields)
        return drafts.add_item(
            request.user, report, kind=form.kind.slug, item_id=item_id, photos=photos, **fields
        )
    except Refused as refused:
        refusals.add_to_form(form, refused, report.site, report)
        return None


def _after_saving(request, report, saved) -> str:
    name = saved.kind_entry.name.lower()
    said = _("Item %(number)s is saved: %(kind)s.") % {"number": saved.number, "kind": name}
    messages.success(request, said)
    if request.POST.get("then") == ANOTHER:
        page = reverse("office:item_new", args=[report.pk])
        return f"{page}?wall={saved.wall_run_id}&saved={saved.pk}"
    page = reverse("office:report", args=[report.pk])
    return f"{page}?saved={saved.pk}#wall-{saved.wall_run_id}"


@applicator_required
@require_GET
def item_check(request, pk):
    """Hold what is typed against the rule of its kind, while it is typed."""
    get_report(request, pk)
    slug = request.GET.get("kind", "")
    if slug not in KINDS:
        raise Http404
    return render(
        request,
        "portal/office/items/_measurement.html",
        {**live_check(slug, request.GET), "live": True},
    )


@applicator_required
def item(request, pk):
    """An item as it stands: its photos, what was said and decided, and what can be done."""
    found = get_item(request, pk)
    if found.report.is_draft:
        return redirect("office:item_edit", pk)
    fixes = found.fixes.select_related("said_by", "reviewed_by").prefetch_related(
        "photos__original", "photos__markup", "photos__flags"
    )
    context = {
        "item": found,
        "report": found.report,
        "site": found.report.site,
        "drawing": drawing_of(found.kind_entry),
        "before": found.photos.kept().with_originals(),
        "fixes": fixes,
        "tone": _tone(found),
        "later": later_of(found) if found.report.superseded_at else None,
    }
    return render(request, "portal/office/items/item.html", context)


def _tone(found: DefectItem) -> Tone:
    """How the page's answer looks; an earlier report's items ask for nothing any more."""
    if found.report.superseded_at:
        return Tone.QUIET
    if found.state == ItemState.ACCEPTED:
        return Tone.GO
    return Tone.STOP if found.holds else Tone.WAIT


@applicator_required
def item_edit(request, pk):
    """Change an item of a draft."""
    found = get_item(request, pk)
    if not found.report.is_draft and request.method != "POST":
        return redirect("office:item", pk)
    return _item_form(
        request, found.report, found.kind_entry, found.pk, item=found, wall=found.wall_run
    )


@applicator_required
@require_POST
def item_remove(request, pk):
    """Take an item out of a draft; its photos stay with the site."""
    found = get_item(request, pk)
    try:
        drafts.remove_item(request.user, found)
        said = _("Item %(number)s removed. Its photos stay with the site.")
        messages.success(request, said % {"number": found.number})
    except Refused as refused:
        refusals.say(request, refused, found.report.site)
    return redirect("office:report", found.report_id)

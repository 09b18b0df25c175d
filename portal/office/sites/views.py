"""Sites: the list and its search, one site's page, its details."""

from dataclasses import replace

from django.contrib import messages
from django.db.models import Prefetch, prefetch_related_objects
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.overview import SiteOverview
from portal.office.people.builder_forms import BuilderForm
from portal.office.sites.forms import RainForm, SiteForm
from portal.office.status.not_through import not_through
from portal.paging import pages_of
from portal.plan import plan_of, status_by_wall
from portal.requests.access import applicator_required
from portal.requests.ids import as_uuid, client_id
from portal.steps import leads_to
from readiness.actions.errors import Refused
from readiness.actions.people.builders import add_builder
from readiness.actions.sites import sites as actions
from readiness.facts import referral_facts
from readiness.models import Builder, Message, Photo, Referral, Site, SiteReport
from readiness.rules.site.assessment import Reason
from readiness.wording.local_rules import for_office
from readiness.wording.office import OFFICE
from readiness.wording.states import wall_words

A_PAGE = 25

SHOWN = {
    "open": later("Open sites"),
    "review": later("To review"),
    "draft": later("Reports to finish"),
    "builder": later("With builders"),
    "closed": later("Archived"),
    "all": later("All sites"),
}


def get_site(request, pk) -> Site:
    """The site, if this person may see it; 404 otherwise."""
    return get_object_or_404(Site.objects.visible_to(request.user).select_related("builder"), pk=pk)


@applicator_required
def sites(request):
    """All sites, newest first, or those that a search finds, 25 a page."""
    text = request.GET.get("q", "").strip()
    show = request.GET.get("show", "all" if text else "open")
    show = show if show in SHOWN else "open"
    found = Site.objects.visible_to(request.user).select_related("builder")
    found = _shown(found, show).matching(text)
    page = pages_of(found, text, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "overviews": SiteOverview.for_sites(page.object_list),
        "text": text,
        "show": show,
        "shown": {name: _(words) for name, words in SHOWN.items()},
        "query": f"{urlencode({'show': show, 'q': text})}&",
    }
    return render(request, "portal/office/sites/sites.html", context)


def _shown(found, show: str):
    if show == "open":
        return found.open()
    if show == "closed":
        return found.closed()
    if show == "review":
        return found.filter(to_review=True)
    if show == "draft":
        return found.filter(pk__in=SiteReport.objects.drafts().values("site"))
    if show == "builder":
        return found.filter(to_fix=True)
    return found


@applicator_required
def site(request, pk):
    """One site: the answer first, then its plan, items, booking, papers and people."""
    found = get_site(request, pk)
    overview = SiteOverview.of(found)
    state = overview.state
    reasons, walls = state.assessment.reasons, _walls(state)
    context = {
        "site": found,
        "overview": overview,
        "saying": overview.saying,
        "assessment": state.assessment,
        "reasons": [link_reason(reason, found, overview.draft) for reason in reasons],
        "notes": [link_reason(note, found, overview.draft) for note in state.assessment.notes],
        "walls": walls,
        "quiet_walls": [wall for wall in walls if not wall["items"]],
        "plan": plan_of(
            state.runs,
            items=state.items,
            status=status_by_wall(state.assessment),
            status_words=wall_words(state.facts()),
            url_of=_plan_links(overview),
        ),
        "contacts": found.notify.select_related("user"),
        "everyone": found.builder.contacts.filter(is_active=True).count(),
        "papers": found.papers.order_by("-requested_at")[:6],
        "emails": Message.objects.filter(site=found).select_related("to")[:5],
        "not_through": not_through(NOT_THROUGH_SHOWN, site=found),
        "trail": found.record.order_by("-sequence").select_related("actor")[:5],
        "rain_form": RainForm(site=found),
        "local_notes": for_office(found.state),
        "referrals": sorted(state.referrals, key=_decided_last),
        "photo_count": found.photos.kept().count(),
    }
    return render(request, "portal/office/sites/site.html", context)


def _decided_last(referral: Referral) -> bool:
    """What is still to decide, or keeps the site closed, comes first."""
    facts = referral_facts(referral)
    return facts.outcome is not None and not facts.keeps_closed


NOT_THROUGH_SHOWN = 10


def link_reason(reason: Reason, site: Site, draft: SiteReport | None = None) -> dict:
    """A reason, its words and where to go for it; with a draft, walls are on its page."""
    step = OFFICE.step(reason)
    if draft and step and reason.run_id and not (reason.item_id or reason.referral_id):
        step = replace(step, page="office:report", about=str(draft.pk))
    url = leads_to(step, site) if step else ""
    return {"reason": reason, "sentence": OFFICE.sentence(reason), "url": url}


def _walls(state) -> list[dict]:
    """Each wall with its items and its own status."""
    by_wall = {}
    for item in state.items:
        by_wall.setdefault(item.wall_run_id, []).append(item)
    shown = Prefetch("photos", Photo.objects.kept().with_originals())
    prefetch_related_objects(state.checks, shown)
    checks = {check.wall_run_id: check for check in state.checks}
    return [
        {
            "run": run,
            "items": by_wall.get(run.pk, []),
            "check": checks.get(run.pk),
            "status": state.assessment.run(str(run.pk)),
        }
        for run in state.runs
    ]


def _plan_links(overview: SiteOverview):
    if overview.draft:
        page = reverse("office:item_new", args=[overview.draft.pk])
        return lambda run: f"{page}?wall={run.pk}"
    return lambda run: f"#wall-{run.pk}"


@applicator_required
def site_new(request):
    """A new site: its builder first (known or new), then where it is."""
    builder = Builder.objects.filter(pk=as_uuid(request.GET.get("builder"))).first()
    if builder is None:
        return _choose_builder(request)
    form = SiteForm(request.POST or None, builder=builder)
    site_id = client_id(request.POST.get("site_id"))
    if request.method == "POST" and form.is_valid():
        made = _add_or_mend(request.user, builder, site_id, form)
        said = _("%(site)s is added. Now enter its walls.")
        messages.success(request, said % {"site": made})
        return redirect("office:walls", made.pk)
    context = {"form": form, "builder": builder, "site_id": site_id}
    return render(request, "portal/office/sites/site_new.html", context)


def _add_or_mend(user, builder: Builder, site_id, form: SiteForm) -> Site:
    """Add the site, or change it if it is there: who comes back mends what was sent before."""
    told = form.cleaned_data["notify"]
    known = Site.objects.visible_to(user).filter(pk=site_id, builder=builder).first()
    if known:
        return actions.change_site(user, known, notify=told, **form.details)
    return actions.add_site(user, builder, notify=told, site_id=site_id, **form.details)


def _choose_builder(request):
    """Step one of a new site: tap a builder, or add one."""
    form = BuilderForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            builder = add_builder(request.user, **form.cleaned_data)
        except Refused as refused:
            refusals.add_to_form(form, refused)
        else:
            return redirect(f"{request.path}?builder={builder.pk}")
    context = {"form": form, "builders": Builder.objects.with_open_sites()}
    return render(request, "portal/office/sites/site_builder.html", context)


@applicator_required
def site_edit(request, pk):
    """A site's details and whom it tells."""
    found = get_site(request, pk)
    form = SiteForm(request.POST or None, instance=found, builder=found.builder)
    if request.method == "POST" and form.is_valid():
        fresh = Site.objects.get(pk=found.pk)  # the form has already written on its own copy
        actions.change_site(request.user, fresh, notify=form.cleaned_data["notify"], **form.details)
        messages.success(request, _("Saved."))
        return redirect("office:site", pk)
    return render(request, "portal/office/sites/site_edit.html", {"form": form, "site": found})


@applicator_required
@require_POST
def site_close(request, pk):
    """Archive a finished site."""
    found = get_site(request, pk)
    try:
        actions.close_site(request.user, found)
        said = _("%(site)s is archived. Search still finds it.")
        messages.success(request, said % {"site": found})
    except Refused as refused:
        refusals.say(request, refused, found)
    return redirect("office:site", pk)


@applicator_required
@require_POST
def site_reopen(request, pk):
    """Open an archived site again."""
    found = get_site(request, pk)
    actions.reopen_site(request.user, found)
    messages.success(request, _("%(site)s is open again.") % {"site": found})
    return redirect("office:site", pk)


@applicator_required
@require_POST
def rain(request, pk):
    """Note when it last rained on the walls."""
    found = get_site(request, pk)
    form = RainForm(request.POST, site=found)
    if not form.is_valid():
        for error in form.errors["rained_at"]:
            messages.error(request, f"{_('When the rain stopped:')} {error}")
        return redirect("office:site", pk)
    try:
        actions.note_rain(request.user, found, form.cleaned_data["rained_at"])
        messages.success(request, _("Saved. Drying time starts then."))
    except Refused as refused:
        refusals.say(request, refused, found)
    return redirect("office:site", pk)

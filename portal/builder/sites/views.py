"""All sites of a builder, one site, an earlier report, and a site's history."""

from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from portal.builder.access import opens
from portal.builder.cards import ItemLists, cards_for, fill
from portal.builder.home.views import list_of_sites
from portal.builder.problems import link_reasons
from portal.builder.sites.drawings import looked_at, site_plan
from portal.builder.sites.history import history_of
from portal.builder.sites.long_lists import SiteItems
from portal.builder.states import row_of
from portal.requests.access import builder_required
from portal.technician import whom_to_call
from readiness import clock
from readiness.facts import SiteState, referral_facts
from readiness.models import Business, Paper, Photo, Site
from readiness.rules.vocabulary import Effect
from readiness.wording import states
from readiness.wording.record import BUILDER, folds

HISTORY_PAGE_SIZE = 50


@require_safe
@builder_required
def all_sites(request):
    """Every site, finished ones too, newest first."""
    return list_of_sites(
        request, Site.objects.visible_to(request.user), "portal/builder/sites/sites.html"
    )


@require_safe
@opens("site")
def site(request, site):
    """One site: what to fix, by trade or by wall, and everything that goes with it."""
    row = row_of(site) if request.may_act else row_of(site).to_read()
    state, group_by = row.state, _group_by(request)
    items = SiteItems.of(state, group_by)
    everything = request.GET.get("all", "")
    if not everything:
        items.show_first(request.GET.get("item", ""))
    fill(items.cards_shown())
    return render(
        request,
        "portal/builder/sites/site.html",
        {
            "row": row,
            "site": site,
            "state": state,
            "items": items,
            "lists": items.lists,
            "group_by": group_by,
            "groups": items.groups,
            "open_fold": everything,
            "walls_shown": {group.key for group in items.groups},
            "plan": site_plan(state),
            "looked_at": looked_at(state),
            "waits_for": []
            if row.is_treated
            else link_reasons(site, _not_about_items(state), request.may_act),
            **_termites(state),
            "limits": [one for one in state.referrals if referral_facts(one).bars_wall],
            "call": whom_to_call(is_ours=False),
            "papers": _papers(request.user, site),
            "business": Business.current(),
            "earlier": site.reports.issued().exclude(superseded_at=None).order_by("-number")[:20],
        },
    )


@require_safe
@opens("site")
def more_items(request, site):
    """The cards of a long list that its page left out, as a part of that page."""
    page, group_by = reverse("builder:site", args=[site.pk]), _group_by(request)
    key = request.GET.get("group", "")
    if not request.htmx:
        return redirect(f"{page}?{urlencode({'by': group_by, 'all': key or 'yes'})}#fixes")
    items = SiteItems.of(SiteState.of(site, with_levels=False), group_by)
    group = items.after(key, request.GET.get("after", ""))
    if group is None:  # the last of them was fixed meanwhile
        return HttpResponse()
    fill(group.cards)
    context = {"site": site, "group": group, "group_by": group_by}
    return render(request, "portal/builder/_cards.html", context)


def _group_by(request) -> str:
    return "wall" if request.GET.get("by") == "wall" else "trade"


def _not_about_items(state):
    """Why it can't be confirmed yet, beside what the page shows anyway: items, live termites."""
    return [
        reason
        for reason in state.assessment.confirm_reasons
        if not (reason.code.is_about_item or reason.code.is_about_termites)
    ]


def _termites(state: SiteState) -> dict:
    """Live termites that keep the site closed, with their photos."""
    found = [one for one in state.referrals if referral_facts(one).keeps_closed]
    photos = Photo.objects.kept().with_originals().filter(referral__in=found) if found else ()
    return {"termites": found, "termite_photos": photos}


def _papers(user, site):
    """Papers of the current report, and of the site."""
    of_now = Q(report=None) | Q(report__superseded_at=None)
    return _newest(Paper.objects.visible_to(user).filter(of_now, site=site))


def _newest(papers):
    """The newest paper of each kind and trade, in order.

    Where it could not be made, the newest one that could stands before it.
    """
    newest: dict[tuple[str, str], list[Paper]] = {}
    for paper in papers.order_by("kind", "trade", "requested_at"):
        before = newest.get((paper.kind, paper.trade), [])
        has_failed = paper.state == Paper.State.FAILED
        usable = [one for one in before if one.state != Paper.State.FAILED] if has_failed else []
        newest[paper.kind, paper.trade] = [*usable, paper]
    return [paper for papers_of_one in newest.values() for paper in papers_of_one]


@require_safe
@opens("report")
def report(request, report):
    """An issued report, read-only: for looking back at an earlier one."""
    site = report.site
    items = report.items.select_related("wall_run").order_by("number")
    lists = ItemLists.of(cards_for(items, clock.now().astimezone(site.zone).date()))
    to_fix = states.words(Effect.HOLDS)
    if report.superseded_at:
        to_fix = "Had to be fixed before we could book"
    return render(
        request,
        "portal/builder/sites/report.html",
        {
            "report": report,
            "site": site,
            "sections": [
                (to_fix, lists.open),
                (_("Accepted"), lists.done),
                (_("We do this on the day"), lists.applicator),
                (_("Record only"), lists.record),
            ],
            "checks": report.checks.select_related("wall_run", "checked_by"),
            "papers": _newest(report.papers.visible_to(request.user)),
        },
    )


@require_safe
@opens("site")
def history(request, site):
    """Who did what, newest first; what happened in our drafts is left out."""
    page = Paginator(history_of(site), HISTORY_PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"site": site, "page": page, "folds": folds(page, site.zone, BUILDER)}
    return render(request, "portal/builder/sites/history.html", context)

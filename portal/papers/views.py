"""A site's papers for both sides: what there is, how far it is, and the PDFs."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from portal.papers.lists import grouped, papers_of, refresh_pause
from portal.papers.serving import serve_paper
from readiness.actions.errors import Refused
from readiness.actions.papers import asking as actions
from readiness.actions.permission import may_act, require_visible
from readiness.models import Paper, Site, SiteReport


def visible_site(user, pk) -> Site:
    return get_object_or_404(Site.objects.visible_to(user).select_related("builder"), pk=pk)


def visible_paper(user, pk) -> Paper:
    papers = Paper.objects.visible_to(user).select_related("site__builder", "report")
    return get_object_or_404(papers.defer("report__snapshot"), pk=pk)


@require_safe
def site(request, pk):
    """The papers of a site; asked for by htmx, only the list."""
    found = visible_site(request.user, pk)
    return _list(request, found)


def _list(request, site, *, status=200, **more):
    papers = papers_of(request.user, site)
    groups = grouped(papers)
    rows = [row for group in groups for row in group.rows]
    waiting = [row for row in rows if row.waits]
    context = {
        "site": site,
        "groups": groups,
        "waiting": waiting,
        "every": refresh_pause(row.paper for row in waiting),
        "failed": [row for row in rows if row.paper.state == Paper.State.FAILED],
        "count": len(rows),
        "may_ask": request.user.is_applicator or may_act(request.user, site),
        "has_guide": any(row.paper.kind == Paper.Kind.GUIDE for row in rows),
        **more,
    }
    page = "portal/papers/_list.html" if request.htmx else "portal/papers/site.html"
    with timezone.override(site.zone):
        return render(request, page, context, status=status)


@require_safe
def paper(request, pk):
    """The PDF, to look at; with ``?download=1`` to keep. 404 until it is made.

    Where the edition is withheld from the user, the list with the one that took its place.
    """
    try:
        found = visible_paper(request.user, pk)
    except Http404:
        replaced = get_object_or_404(Paper.objects.withheld_from(request.user), pk=pk)
        messages.info(request, _("That edition was replaced. The current one is in this list."))
        return redirect("papers:site", replaced.site_id)
    if found.state != Paper.State.MADE:
        raise Http404
    try:
        return serve_paper(found, download=bool(request.GET.get("download")))
    except FileNotFoundError:
        return render(request, "portal/papers/lost.html", {"paper": found}, status=404)


@require_POST
def retry(request, pk):
    """Try again to make a paper that could not be made: the applicator only."""
    found = visible_paper(request.user, pk)
    actions.retry_paper(request.user, found)
    messages.success(request, _("%(paper)s is being made again.") % {"paper": found.title})
    return redirect("papers:site", found.site_id)


@require_POST
def edition(request, pk):
    """Make a paper again as a new edition that says why: the applicator only."""
    found = visible_paper(request.user, pk)
    reason = request.POST.get("reason", "")
    try:
        made = actions.new_edition(request.user, found, reason=reason[:200])
    except Refused as refused:
        return _list(
            request, found.site, status=400, refused=refused.problems, refused_id=found.pk,
            reason=reason,
        )  # fmt: skip
    messages.success(
        request,
        _("%(paper)s: edition %(number)d is being made.")
        % {"paper": made.title, "number": made.edition},
    )
    return redirect("papers:site", found.site_id)


@require_POST
def guide(request, pk):
    """Have the preparation guide made for a site: anybody who sees the site and may act there."""
    found = visible_site(request.user, pk)
    require_visible(request.user, found)
    if found.closed_at:
        raise PermissionDenied(_("This site is archived."))
    with transaction.atomic():
        actions.queue_guide(found)
    return redirect("papers:site", pk)


@require_POST
def rule_values(request, pk):
    """Have the annex with a report's rule values made: anybody who sees it and may act there."""
    reports = SiteReport.objects.issued().filter(site__in=Site.objects.visible_to(request.user))
    report = get_object_or_404(reports.select_related("site").defer("snapshot"), pk=pk)
    require_visible(request.user, report.site)
    if report.site.closed_at:
        raise PermissionDenied(_("This site is archived."))
    with transaction.atomic():
        actions.queue_rule_values(report)
    return redirect("papers:site", report.site_id)

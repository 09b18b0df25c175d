"""The builder's first page: my open sites."""

from urllib.parse import urlencode

from django.shortcuts import render
from django.views.decorators.http import require_safe

from portal.builder.states import rows_for
from portal.paging import pages_of
from portal.requests.access import builder_required
from readiness.actions.permission import may_act
from readiness.models import Site
from readiness.priorities import by_priority

PAGE_SIZE = 25


@require_safe
@builder_required
def home(request):
    """My open sites, what I can act on first."""
    sites = by_priority(Site.objects.visible_to(request.user).open())
    return list_of_sites(request, sites, "portal/builder/home/home.html")


def list_of_sites(request, sites, template):
    """A page of rows, found by what was searched for."""
    words = request.GET.get("q", "").strip()
    sites = sites.select_related("builder")
    pages = pages_of(sites.matching(words), words, PAGE_SIZE)
    page = pages.get_page(request.GET.get("page"))
    query = urlencode({"q": words}) + "&" if words else ""
    context = {
        "page": page,
        "rows": [
            row if may_act(request.user, row.site) else row.to_read() for row in rows_for(page)
        ],
        "words": words,
        "query": query,
        "several_builders": len(request.user.active_memberships) > 1,
    }
    return render(request, template, context)

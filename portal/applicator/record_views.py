"""What a site keeps: its Record, its photos, and the e-mails about it."""

from django.core.paginator import Paginator
from django.shortcuts import render

from portal.access import applicator_required
from portal.applicator.record_words import lines
from portal.applicator.site_views import get_site
from readiness.actions.record import chain_break
from readiness.models import Message

A_PAGE = 50
PHOTOS_A_PAGE = 48


@applicator_required
def record(request, pk):
    """The history of a site, newest first, and whether its chain holds."""
    site = get_site(request, pk)
    entries = site.record.select_related("actor").order_by("-sequence")
    page = Paginator(entries, A_PAGE).get_page(request.GET.get("page"))
    walls = {str(run.pk): run.label for run in site.wall_runs.all()}
    context = {
        "site": site,
        "page": page,
        "lines": lines(page.object_list, site.zone, walls),
        "broken": chain_break(site),
    }
    return render(request, "portal/applicator/record.html", context)


@applicator_required
def photos(request, pk):
    """Every photo of a site, newest first, with what it shows."""
    site = get_site(request, pk)
    found = (
        site.photos.kept()
        .with_originals()
        .select_related("item", "fix__item", "run_check__wall_run", "uploaded_by")
        .order_by("-received_at", "id")
    )
    page = Paginator(found, PHOTOS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "portal/applicator/photos.html", {"site": site, "page": page})


@applicator_required
def emails(request, pk):
    """The e-mails about a site: sent, waiting, or failed and why."""
    site = get_site(request, pk)
    found = Message.objects.filter(site=site).select_related("to")
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    return render(request, "portal/applicator/emails.html", {"site": site, "page": page})

"""Deleting photos for good: one with a reason, or those that are older than they are kept."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count, Min
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from portal.photos.forms import DeleteForm
from portal.photos.views import visible_photo
from portal.requests.access import applicator_required
from readiness.actions.papers.replacing import papers_showing, replace_papers
from readiness.actions.permission import require_owner
from readiness.actions.photos.keeping import past_retention, remove_photo
from readiness.models import Business, Site
from readiness.rules.words import counted

DELETED_SINCE = "A photo was deleted."


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def delete(request, photo_id):
    """Delete a photo for good, with a reason: the owner of the business only."""
    require_owner(request.user)
    photo = visible_photo(request.user, photo_id)
    form = DeleteForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            remove_photo(request.user, photo, form.cleaned_data["reason"])
            if form.cleaned_data["replace_papers"]:
                replace_papers(request.user, photo, reason=DELETED_SINCE)
        messages.success(request, _("Deleted. The photo's fingerprint stays in the record."))
        return redirect(reverse("office:photos", args=[photo.site_id]))
    context = {"photo": photo, "form": form, "papers": papers_showing(photo)}
    return render(request, "portal/photos/delete.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def old(request):
    """Sites with photos past the time the business keeps them; a POST deletes those of one site."""
    require_owner(request.user)
    years = Business.current().retention_years
    if request.method == "POST":
        return _delete_old(request, years)
    photos = past_retention().order_by()
    oldest_first = photos.values("site").annotate(count=Count("pk"), oldest=Min("received_at"))
    by_site = {row["site"]: row for row in oldest_first.order_by("oldest")[:200]}
    sites = Site.objects.in_bulk(by_site)
    rows = [{"site": sites[pk], **row} for pk, row in by_site.items()]
    return render(request, "portal/photos/old.html", {"rows": rows, "years": years})


def _delete_old(request, years: int):
    try:
        site = get_object_or_404(Site, pk=request.POST.get("site", ""))
    except ValidationError as error:
        raise Http404 from error
    photos = list(past_retention().filter(site=site))
    reason = f"Kept for {counted(years, 'year')}, as the business decided."
    for photo in photos:
        remove_photo(request.user, photo, reason)
    words = ngettext(
        "%(count)d photo of %(site)s is deleted. Its fingerprint stays in the record.",
        "%(count)d photos of %(site)s are deleted. Their fingerprints stay in the record.",
        len(photos),
    )
    messages.success(request, words % {"count": len(photos), "site": site})
    return redirect("photos:old")

"""Noting live termites, and walls that nobody can reach."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from portal.forms import refusals
from portal.office.levels.views import get_run
from portal.office.referrals.forms import AccessForm, TermitesForm
from portal.office.sites.views import get_site
from portal.office.told import told
from portal.photos.forms import handle_uploads
from portal.requests.access import applicator_required
from portal.requests.ids import client_id
from portal.technician import whom_to_call
from readiness.actions import referrals as actions
from readiness.actions.errors import Refused


@applicator_required
def termites_new(request, pk):
    """Stop, leave all as it is, photos, whom to call; then record it, which closes the site."""
    site = get_site(request, pk)
    first = {"wall_run": request.GET.get("wall", "")}
    sent = request.POST if request.method == "POST" else None
    form = TermitesForm(sent, site=site, initial=first)
    referral_id = client_id(request.POST.get("referral_id"))
    photos, photo_errors = [], []
    if request.method == "POST":
        photos, photo_errors = handle_uploads(request, site)
        if form.is_valid() and not photo_errors:
            try:
                found = actions.note_live_termites(
                    request.user,
                    site,
                    photos=photos,
                    referral_id=referral_id,
                    **form.cleaned_data,
                )
            except Refused as refused:
                refusals.add_to_form(form, refused, site)
            else:
                said = _("Recorded. Nothing can be booked now.")
                messages.success(request, f"{said} {told(site)}")
                return redirect("office:referral", found.pk)
    context = {
        "site": site,
        "form": form,
        "referral_id": referral_id,
        "photos": photos,
        "photo_errors": photo_errors,
        "call": whom_to_call(),
        "draft": site.reports.drafts().first(),
    }
    return render(request, "portal/office/referrals/termites_new.html", context)


@applicator_required
def access_new(request, pk):
    """Note that nobody can reach a wall, or a stretch of it; then the technician decides."""
    wall = get_run(request, pk)
    site = wall.site
    form = AccessForm(request.POST if request.method == "POST" else None, wall=wall)
    referral_id = client_id(request.POST.get("referral_id"))
    photos, photo_errors = [], []
    if request.method == "POST":
        photos, photo_errors = handle_uploads(request, site)
        if form.is_valid() and not photo_errors:
            try:
                noted = actions.note_no_access(
                    request.user,
                    wall,
                    photos=photos,
                    referral_id=referral_id,
                    **form.cleaned_data,
                )
            except Refused as refused:
                refusals.add_to_form(form, refused, site)
            else:
                said = _("Recorded. A licensed technician decides next.")
                messages.success(request, said)
                return redirect("office:referral", noted.pk)
    context = {
        "site": site,
        "wall": wall,
        "form": form,
        "referral_id": referral_id,
        "photos": photos,
        "photo_errors": photo_errors,
        "draft": site.reports.drafts().first(),
    }
    return render(request, "portal/office/referrals/access_new.html", context)

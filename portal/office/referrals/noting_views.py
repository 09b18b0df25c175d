"""Noting live termites, and walls that nobody can reach."""

from collections.abc import Callable
from functools import partial

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
from readiness.models import Referral, Site

TERMITES = "portal/office/referrals/termites_new.html"
ACCESS = "portal/office/referrals/access_new.html"


@applicator_required
def termites_new(request, pk):
    """Stop, leave all as it is, photos, whom to call; then record it, which closes the site."""
    site = get_site(request, pk)
    first = {"wall_run": request.GET.get("wall", "")}
    sent = request.POST if request.method == "POST" else None
    form = TermitesForm(sent, site=site, initial=first)
    note = partial(actions.note_live_termites, request.user, site)
    context = {"call": whom_to_call()}
    return _noting(request, site, TERMITES, form, note, _closed, context)


def _closed(site: Site) -> str:
    return f"{_('Recorded. Nothing can be booked now.')} {told(site)}"


@applicator_required
def access_new(request, pk):
    """Note that nobody can reach a wall, or a stretch of it; then the technician decides."""
    wall = get_run(request, pk)
    sent = request.POST if request.method == "POST" else None
    form = AccessForm(sent, wall=wall)
    note = partial(actions.note_no_access, request.user, wall)
    return _noting(request, wall.site, ACCESS, form, note, _to_decide, {"wall": wall})


def _to_decide(site: Site) -> str:
    return _("Recorded. A licensed technician decides next.")


def _noting(
    request,
    site: Site,
    template: str,
    form: TermitesForm | AccessForm,
    note: Callable[..., Referral],
    said: Callable[[Site], str],
    context: dict,
):
    """The form with its photos, or, once `note` took what was sent, what was noted."""
    referral_id = client_id(request.POST.get("referral_id"))
    photos, errors = [], []
    if request.method == "POST":
        photos, errors = handle_uploads(request, site)
        if form.is_valid() and not errors:
            try:
                found = note(photos=photos, referral_id=referral_id, **form.cleaned_data)
            except Refused as refused:
                refusals.add_to_form(form, refused, site)
            else:
                messages.success(request, said(site))
                return redirect("office:referral", found.pk)
    shown = {
        "site": site,
        "form": form,
        "referral_id": referral_id,
        "photos": photos,
        "photo_errors": errors,
        "draft": site.reports.drafts().first(),
    }
    return render(request, template, shown | context)

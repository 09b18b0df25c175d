"""One thing that only a licensed technician decides: as it stands, deciding it, and its photos."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.referrals.forms import DecisionForm
from portal.photos.forms import handle_uploads
from portal.requests.access import applicator_required
from portal.requests.ids import client_id
from portal.technician import whom_to_call
from readiness.actions import referrals as actions
from readiness.actions.errors import Refused
from readiness.models import Photo, Referral
from readiness.wording.saying import Tone


def get_referral(request, pk) -> Referral:
    """What was found, if this person may see its site; 404 otherwise."""
    found = Referral.objects.visible_to(request.user).select_related(
        "site__builder", "wall_run", "noted_by"
    )
    return get_object_or_404(found.prefetch_related("decisions"), pk=pk)


@applicator_required
def referral(request, pk):
    """What was found, what was decided, and the form to decide."""
    found = get_referral(request, pk)
    return _page(request, found, DecisionForm(referral=found))


def _page(request, found: Referral, form: DecisionForm, photos=(), photo_errors=()):
    """The page; the form comes back with what was typed and sent."""
    shown = Photo.objects.kept().with_originals()
    context = {
        "referral": found,
        "site": found.site,
        "form": form,
        "decision_id": client_id(request.POST.get("decision_id")),
        "decisions": list(found.decisions.all()),
        "in_force": found.in_force,
        "is_open": found.is_termites and not found.is_settled,
        "tone": _tone(found),
        "attached": shown.filter(referral=found),
        "of_decisions": shown.filter(referral_decision__referral=found),
        "may_decide": bool(request.user.licence_number.strip() and request.user.name.strip()),
        "photos": photos,
        "photo_errors": photo_errors,
        "call": whom_to_call(),
        "draft": found.site.reports.drafts().first(),
    }
    return render(request, "portal/office/referrals/referral.html", context)


def _tone(found: Referral) -> Tone:
    """How the answer looks: what is not treated is decided, and no success."""
    if found.is_termites:
        return Tone.GO if found.is_settled else Tone.STOP
    return Tone.QUIET if found.in_force else Tone.WAIT


@applicator_required
@require_POST
def decide(request, pk):
    """Record what the technician who is signed in decided."""
    found = get_referral(request, pk)
    form = DecisionForm(request.POST, referral=found)
    photos, errors = handle_uploads(request, found.site)
    if not form.is_valid() or errors:
        return _page(request, found, form, photos, errors)
    try:
        actions.decide_referral(
            request.user,
            found,
            photos=photos,
            decision_id=client_id(request.POST.get("decision_id")),
            **form.cleaned_data,
        )
    except Refused as refused:
        refusals.add_to_form(form, refused, found.site)
        return _page(request, found, form, photos, errors)
    messages.success(request, _("Decision recorded."))
    return redirect("office:referral", pk)


@applicator_required
@require_POST
def photos(request, pk):
    """Add photos to what was found."""
    found = get_referral(request, pk)
    sent, errors = handle_uploads(request, found.site, "found")
    for error in errors:
        messages.error(request, error)
    try:
        actions.show_referral(request.user, found, sent)
    except Refused as refused:
        refusals.say(request, refused, found.site)
    else:
        if sent:
            messages.success(request, _("Photos added."))
    return redirect("office:referral", pk)

"""Reviewing what the builder reported fixed, and deciding what the builder disputes."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.items.views import get_item
from portal.office.sites.views import get_site
from portal.office.told import told
from portal.requests.access import applicator_required
from portal.requests.ids import as_uuid
from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.visits import confirming
from readiness.facts import SiteState
from readiness.models import DefectItem
from readiness.rules.vocabulary import TO_DO, Effect, ItemState
from readiness.wording import states
from readiness.wording.office import review_words

KEPT = "review_kept"
"""Session key of a reason that was typed and refused, so that it is not lost."""


@applicator_required
def review(request, pk):
    """Every item that waits for us, with its photos; and those that can be seen on site."""
    site = get_site(request, pk)
    items = list(DefectItem.objects.current().of_site(site).for_review())
    reported = [
        item for item in items if item.state == ItemState.REPORTED_FIXED and not item.is_disputed
    ]
    disputed = [item for item in items if item.is_disputed]
    context = {
        "site": site,
        "reported": reported,
        "disputed": disputed,
        "to_do": review_words(len(reported), len(disputed)),
        "to_fix": [
            item
            for item in items
            if item.effect != Effect.RECORD and item.state in TO_DO and not item.is_disputed
        ],
        "kept": request.session.pop(KEPT, {}),
    }
    return render(request, "portal/office/review/review.html", context)


@applicator_required
@require_POST
def accept_several(request, pk):
    """Accept all ticked items at once: all of them or none."""
    site = get_site(request, pk)
    wanted = filter(None, map(as_uuid, request.POST.getlist("items")))
    items = list(DefectItem.objects.current().of_site(site).filter(pk__in=list(wanted)))
    if not items:
        messages.error(request, _("Tick the items you want to accept first."))
        return redirect("office:review", pk)
    try:
        fixes.accept_fixes(request.user, items)
        said = ngettext("%(count)d item accepted.", "%(count)d items accepted.", len(items))
        messages.success(request, said % {"count": len(items)})
    except Refused as refused:
        refusals.say(request, refused, site)
    return _on(site)


@applicator_required
@require_POST
def accept(request, pk):
    """Accept one item from its photos."""
    return _act(request, pk, lambda item, note: fixes.accept_fix(request.user, item, note=note))


@applicator_required
@require_POST
def accept_on_site(request, pk):
    """Accept an item that was seen fixed on site, whether or not anybody said so."""
    return _act(request, pk, lambda item, note: fixes.accept_on_site(request.user, item, note=note))


@applicator_required
@require_POST
def send_back(request, pk):
    """Send a fix back with a reason."""
    return _act(
        request, pk, lambda item, reason: fixes.send_back(request.user, item, reason=reason)
    )


@applicator_required
@require_POST
def decide(request, pk):
    """Decide a dispute: the item is kept, or withdrawn."""
    stands = request.POST.get("decision") != "let_go"
    return _act(
        request,
        pk,
        lambda item, reason: fixes.decide_disagreement(
            request.user, item, stands=stands, reason=reason
        ),
    )


def _act(request, pk, action):
    """Do one thing to one item; what was typed comes back when it is refused."""
    item = get_item(request, pk)
    site, text = item.report.site, request.POST.get("reason", "").strip()
    try:
        done = action(item, text)
        said = _("Item %(number)s: %(outcome)s.")
        messages.success(request, said % {"number": done.number, "outcome": _outcome(done)})
    except Refused as refused:
        refusals.say(request, refused, site)
        if text:
            request.session[KEPT] = {str(pk): text}
        return redirect(f"{reverse('office:review', args=[site.pk])}#item-{pk}")
    return _on(site)


def _outcome(item: DefectItem) -> str:
    if item.decision == DefectItem.Decision.STANDS and item.state != ItemState.ACCEPTED:
        return _("dispute decided, item kept")
    return states.in_a_sentence(item.state)


def _on(site):
    """The next item to review, or the site when there is none left."""
    left = DefectItem.objects.current().of_site(site).awaiting_review()
    return redirect("office:review" if left.exists() else "office:site", site.pk)


@applicator_required
@require_POST
def withdraw_confirmation(request, pk):
    """Take back a readiness confirmation that was seen not to hold."""
    site = get_site(request, pk)
    confirmation = SiteState.of(site).confirmation
    if confirmation is None:
        messages.error(request, _("There is no readiness confirmation to withdraw."))
        return redirect("office:site", pk)
    try:
        confirming.withdraw_confirmation(
            request.user, confirmation, reason=request.POST.get("reason", "")
        )
        messages.success(request, f"{_('Readiness confirmation withdrawn.')} {told(site)}")
    except Refused as refused:
        refusals.say(request, refused, site)
    return redirect("office:site", pk)

"""Exports that wait for an owner: what each would bring in, and the owner's decision."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.requests.access import applicator_required, asks_again
from readiness.actions.permission import require_owner
from readiness.handover import BadExport, waiting


@applicator_required
def imports(request):
    """What waits, and what would happen."""
    require_owner(request.user)
    return render(request, "portal/office/imports/imports.html", {"exports": waiting.waiting()})


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
@asks_again
def decide(request):
    """Bring one in or discard it, by the digest of what was shown."""
    require_owner(request.user)
    if request.method != "POST":
        return redirect("office:imports")
    digest = request.POST.get("digest", "")
    try:
        if "discard" in request.POST:
            waiting.discard(request.user, digest)
            messages.success(request, _("Discarded. Nothing was brought in."))
            return redirect("office:imports")
        site = waiting.approve(request.user, digest)
    except BadExport as error:
        messages.error(request, str(error))
        return redirect("office:imports")
    messages.success(request, _("The site is in, with its Record."))
    return redirect("office:site", site.pk)

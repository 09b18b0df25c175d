"""The settings of the business: everybody of the staff reads them, owners change them."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from portal.forms import refusals
from portal.office.business.forms import BusinessForm
from portal.requests.access import applicator_required, asks_again
from readiness.actions.errors import Refused
from readiness.actions.firm.business import change_business
from readiness.actions.permission import require_owner
from readiness.models import Business


@applicator_required
@asks_again
def business(request):
    """Letterhead, wording and policies."""
    form = BusinessForm(request.POST or None, instance=Business.current())
    if not request.user.is_owner:
        for field in form.fields.values():
            field.disabled = True
    if request.method == "POST":
        require_owner(request.user)
    if request.method == "POST" and form.is_valid():
        try:
            change_business(request.user, **form.settings)
        except Refused as refused:
            refusals.add_to_form(form, refused)
        else:
            messages.success(request, _("Saved. Papers made from now on use these settings."))
            return redirect("office:business")
    return render(request, "portal/office/business/business.html", {"form": form})

"""The licence number of one of the staff: with it they decide what only a technician may."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from portal.accounts.forms import LicenceForm
from portal.requests.access import applicator_required, asks_again
from readiness.actions.people.rights import set_licence
from readiness.actions.permission import require_owner
from readiness.models import User


@applicator_required
@asks_again
def staff_licence(request, pk):
    """Owners enter it, their own too, or take it away."""
    require_owner(request.user)
    colleague = get_object_or_404(User, pk=pk, role=User.Role.APPLICATOR)
    number = colleague.licence_number
    form = LicenceForm(request.POST or None, initial={"licence_number": number})
    if request.method == "POST" and form.is_valid():
        set_licence(request.user, colleague, form.cleaned_data["licence_number"])
        messages.success(request, _("%(person)s: saved.") % {"person": colleague})
        return redirect("office:staff")
    context = {"form": form, "colleague": colleague}
    return render(request, "portal/office/people/licence.html", context)

"""Removing a contact's details for good, when they ask for it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.requests.access import applicator_required, asks_again
from readiness.actions.people.removing import remove_person
from readiness.actions.permission import require_owner
from readiness.models import BuilderContact


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
@asks_again
def remove_contact(request, pk):
    """Ask first, then remove: the owner of the business only."""
    require_owner(request.user)
    person = get_object_or_404(BuilderContact.objects.select_related("user", "builder"), pk=pk)
    if request.method == "POST":
        builder = person.builder_id
        remove_person(request.user, person.user)
        messages.success(request, _("Personal details removed. The Record is still complete."))
        return redirect("office:builder", builder)
    return render(request, "portal/office/people/remove_contact.html", {"contact": person})

"""Building companies and their people."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from portal.forms import refusals
from portal.office.overview import SiteOverview
from portal.office.people.builder_forms import BuilderForm
from portal.office.people.views import contacts_context
from portal.requests.access import applicator_required
from readiness.actions.errors import Refused
from readiness.actions.people.builders import add_builder, change_builder
from readiness.models import Builder

SITES_SHOWN = 10


@applicator_required
def builders(request):
    """All building companies, with how many open sites and people each has."""
    context = {"builders": Builder.objects.with_open_sites()}
    return render(request, "portal/office/people/builders.html", context)


@applicator_required
def builder(request, pk):
    """One building company: its people, invitations and latest sites."""
    found = get_object_or_404(Builder, pk=pk)
    sites = found.sites.select_related("builder")
    context = {
        **contacts_context(found),
        "overviews": SiteOverview.for_sites(sites.open()[:SITES_SHOWN]),
        "site_count": sites.count(),
    }
    return render(request, "portal/office/people/builder.html", context)


@applicator_required
def builder_new(request):
    """Add a building company."""
    form = BuilderForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = add_builder(request.user, **form.cleaned_data)
        except Refused as refused:
            refusals.add_to_form(form, refused)
        else:
            said = _("%(builder)s is added. Now invite its people.")
            messages.success(request, said % {"builder": made})
            return redirect("office:builder", made.pk)
    return render(request, "portal/office/people/builder_form.html", {"form": form})


@applicator_required
def builder_edit(request, pk):
    """Change a building company's name, number and our notes."""
    found = get_object_or_404(Builder, pk=pk)
    form = BuilderForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            change_builder(request.user, found, **form.cleaned_data)
        except Refused as refused:
            refusals.add_to_form(form, refused)
        else:
            messages.success(request, _("Saved."))
            return redirect("office:builder", pk)
    context = {"form": form, "builder": Builder.objects.get(pk=pk)}
    return render(request, "portal/office/people/builder_form.html", context)

"""A site's export as a file: whole for the own archive, or what goes along to the other side."""

import tempfile
from dataclasses import fields
from pathlib import Path

from django import forms
from django.http import FileResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from portal.office.sites.views import get_site
from portal.requests.access import applicator_required
from readiness.evidence.signing import BadKey
from readiness.handover.along import WHOLE, Along
from readiness.handover.export import export_site


class ExportForm(forms.Form):
    """What goes along to the other side: nothing of it unless it is chosen."""

    positions = forms.BooleanField(required=False, label=_("Positions of the site and of photos"))
    originals = forms.BooleanField(
        required=False,
        label=_("Original photo files"),
        help_text=_("Not blurred, with the position and all else that the camera wrote into them."),
    )
    access = forms.BooleanField(required=False, label=_("Notes on site access, such as gate codes"))
    addresses = forms.BooleanField(
        required=False, label=_("Phone numbers and e-mail addresses of people")
    )

    def along(self) -> Along:
        names = [one.name for one in fields(Along)]
        return Along.of(name for name in names if self.cleaned_data[name])


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def export(request, pk):
    """Ask what goes along, then send the file."""
    site = get_site(request, pk)
    form = ExportForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        along = WHOLE if "whole" in request.POST else form.along()
        try:
            return _file(site, along, request.user)
        except BadKey as error:
            form.add_error(None, str(error))
    context = {"site": site, "form": form}
    return render(request, "portal/office/record/export.html", context)


def _file(site, along: Along, user) -> FileResponse:
    """Written whole, then sent; the file is gone once it was sent."""
    with tempfile.TemporaryDirectory(prefix="export-") as folder:
        path = Path(folder) / "site.zip"
        export_site(site, path, along, user)
        content = path.open("rb")
    name = f"{slugify(str(site))}{'' if along.is_whole else '-part'}.zip"
    return FileResponse(content, as_attachment=True, filename=name)

"""The list of days off beside the public holidays: staff read it, owners change it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from portal.forms import refusals
from portal.office.business.days_off_forms import DayOffForm
from portal.requests.access import applicator_required, asks_again
from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.firm.days_off import keep_day_off, remove_day_off
from readiness.actions.permission import require_owner
from readiness.models import Booking, DayOff
from readiness.wording import days_off as wording


@dataclass(frozen=True)
class DayOffRow:
    """An entry as the list shows it; `coming` is empty once it is over for good."""

    row: DayOff
    when: str
    where: str
    coming: str
    first: date


@applicator_required
def days_off(request):
    """All entries, what comes next first."""
    rows = sorted(map(_row, DayOff.objects.all()), key=lambda one: (one.first, one.row.name))
    context = {"rows": rows}
    return render(request, "portal/office/business/days_off.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
@asks_again
def day_off_new(request):
    """Add an entry: an owner."""
    require_owner(request.user)
    return _form(request, DayOffForm(request.POST or None))


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
@asks_again
def day_off(request, pk):
    """Change an entry, or take it off the list: an owner."""
    require_owner(request.user)
    found = get_object_or_404(DayOff, pk=pk)
    return _form(request, DayOffForm(request.POST or None, row=found), found)


def _form(request, form: DayOffForm, row: DayOff | None = None):
    if request.method == "POST" and form.is_valid():
        entry_id = row.pk if row else form.cleaned_data["entry_id"]
        try:
            kept = keep_day_off(request.user, form.entry, day_off_id=entry_id)
        except Refused as refused:
            refusals.add_to_form(form, refused)
        else:
            messages.success(request, _saved(kept))
            return redirect("office:days_off")
    context = {"form": form, "row": row}
    return render(request, "portal/office/business/day_off.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
@asks_again
def day_off_remove(request, pk):
    """Take an entry off the list; asked for otherwise, its page."""
    require_owner(request.user)
    if request.method != "POST":
        return redirect("office:day_off", pk)
    found = DayOff.objects.filter(pk=pk).first()
    if found:
        remove_day_off(request.user, found)
    messages.success(request, _("Removed. These are working days again."))
    return redirect("office:days_off")


def _row(row: DayOff) -> DayOffRow:
    entry = row.rule
    coming = entry.next_stretch(clock.now().date())
    return DayOffRow(
        row=row,
        when=wording.when(entry),
        where=wording.where(entry),
        coming=wording.stretch(*coming) if coming else "",
        first=coming[0] if coming else date.max,
    )


def _saved(row: DayOff) -> str:
    """That it is kept, and what was agreed for these days before."""
    entry = row.rule
    coming = entry.next_stretch(clock.now().date())
    agreed = Booking.objects.between(*coming).select_related("site") if coming else ()
    count = sum(entry.is_on(one.day) and entry.holds_at(one.site.postcode) for one in agreed)
    said = _("Saved. These days are left out of due dates and of days to offer.")
    if not count:
        return said
    more = ngettext(
        "%(count)d visit is already offered or booked then: it stays until you move it.",
        "%(count)d visits are already offered or booked then: they stay until you move them.",
        count,
    )
    return f"{said} {more % {'count': count}}"

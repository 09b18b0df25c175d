"""Asking for a day, answering an offer, and the booking itself."""

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from portal.builder.access import opens, posted_to
from portal.builder.forms import AskForm, ReasonForm
from portal.builder.problems import link_problems, link_reasons, saying
from portal.builder.states import row_of
from readiness.actions.errors import Problem, Refused
from readiness.actions.visits import booking as acts
from readiness.messages.calendar_file import calendar_file
from readiness.models import Booking, Business
from readiness.rules.site.reasons import last_day_of
from readiness.wording import dates
from readiness.wording.refusals import visits as refusals


@require_http_methods(["GET", "HEAD", "POST"])
@opens("site")
def book(request, site):
    """The site's booking as it is now, and the form that asks for a day."""
    row = row_of(site)
    form = _ask_form(request, row)
    if request.method != "POST":
        return _page(request, row, form)
    if not form.is_valid():
        return _page(request, row, form)
    if not form.preferences:
        missing = Problem(refusals.no_day(), url="#ask", label=_("Choose a half-day"))
        return _page(request, row, form, [missing])
    try:
        acts.ask_for_booking(
            request.user,
            site,
            preferences=form.preferences,
            note=form.cleaned_data["note"],
            seen=_seen(request),
        )
    except Refused as refused:
        return _page(request, row, form, link_problems(site, refused))
    messages.success(request, _sent(len(form.preferences)))
    return redirect("builder:book", pk=site.pk)


def _sent(count: int) -> str:
    """How many half-days were sent, and what comes next."""
    words = ngettext(
        "Sent: %(count)d half-day. We will offer a day by e-mail and here.",
        "Sent: %(count)d half-days. We will offer one by e-mail and here.",
        count,
    )
    return words % {"count": count}


def _seen(request) -> str | None:
    """The offer that was on the page with the button; it may have changed since."""
    return request.POST.get("seen")


def _ask_form(request, row) -> AskForm:
    booking, facts = row.state.booking, row.state.facts()
    return AskForm(
        request.POST or None,
        site=row.site,
        facts=facts,
        wanted=[f"{day.isoformat()}/{half}" for day, half in booking.wishes(facts.today)]
        if booking
        else (),
        initial={"note": booking.note if booking else ""},
    )


def _page(request, row, form: AskForm, problems=(), **reason_forms):
    """The page; `decline_form` or `cancel_form` comes back with what was typed."""
    state = row.state
    asked = state.booking is not None and state.booking.was_asked
    return render(
        request,
        "portal/builder/booking/book.html",
        {
            "site": row.site,
            "row": row,
            "state": state,
            "booking": state.booking,
            "wishes": _wishes(row),
            "form": form,
            "ask_button": _("Ask for these instead") if asked else _("Ask for these"),
            "problems": problems,
            "reasons": link_reasons(row.site, state.assessment.booking_reasons, request.may_act),
            "can_book": state.assessment.can_book,
            "waits_for_technician": state.assessment.waits_for_technician,
            "termites_open": state.facts().are_termites_open,
            "offer_has_passed": state.facts().offer_has_passed,
            "latest": _latest(state),
            "business": Business.current(),
            "decline_form": _decline_form(),
            "cancel_form": _cancel_form(state.booking),
            **reason_forms,
        },
    )


def _decline_form(data=None) -> ReasonForm:
    return ReasonForm(data, label=_("Which days suit better?"), required=False, prefix="decline")


def _cancel_form(booking: Booking | None, data=None) -> ReasonForm:
    """Only a confirmed day needs a reason."""
    is_booked = booking is not None and booking.state == Booking.State.CONFIRMED
    return ReasonForm(
        data,
        label=_("Why do you cancel?"),
        required=is_booked,
        missing=refusals.no_reason_to_cancel(),
        prefix="cancel",
    )


def _wishes(row) -> list[str]:
    """What was asked for and is still to come, in words."""
    booking = row.state.booking
    wishes = booking.wishes(row.state.facts().today) if booking else ()
    return [f"{dates.long_day(day)}, {half}" for day, half in wishes]


def _latest(state) -> date | None:
    """The last day that the confirmation in force covers."""
    facts = state.facts()
    if not state.assessment.confirmation_in_force or facts.confirmation is None:
        return None
    return last_day_of(facts.confirmation, facts)


@posted_to("booking", "book")
def accept(request, booking):
    """Accept the offered day; what has to be done first is listed with links."""
    site = booking.site
    try:
        acts.accept_offer(request.user, booking, seen=_seen(request))
    except Refused as refused:
        row = row_of(site)
        return _page(request, row, _blank(row), link_problems(site, refused))
    messages.success(request, _("Booked."))
    return redirect("builder:book", pk=site.pk)


def _blank(row) -> AskForm:
    return AskForm(site=row.site, facts=row.state.facts())


@posted_to("booking", "book")
def decline(request, booking):
    """The offered day does not suit; the request stays open."""
    form = _decline_form(request.POST)
    if not form.is_valid():
        row = row_of(booking.site)
        return _page(request, row, _blank(row), decline_form=form)
    note = form.cleaned_data["reason"]
    with saying(request, _("Turned down. We will offer another day.")):
        acts.decline_offer(request.user, booking, note=note, seen=_seen(request))
    return redirect("builder:book", pk=booking.site_id)


@posted_to("booking", "book")
def cancel(request, booking):
    """Cancel what is under way; a confirmed day needs a reason."""
    form = _cancel_form(booking, request.POST)
    if not form.is_valid():
        row = row_of(booking.site)
        return _page(request, row, _blank(row), cancel_form=form)
    reason = form.cleaned_data["reason"]
    with saying(request, _("Cancelled.")):
        acts.cancel_booking(request.user, booking, reason=reason)
    return redirect("builder:book", pk=booking.site_id)


@require_safe
@opens("booking")
def calendar(request, booking):
    """The booked day for a calendar (RFC 5545)."""
    if booking.state != Booking.State.CONFIRMED:
        raise Http404
    file = calendar_file(booking)
    response = HttpResponse(file.content, content_type=file.content_type)
    response["Content-Disposition"] = 'attachment; filename="treatment.ics"'
    return response

"""Bookings: offering a day, cancelling, and recording how the day went."""

from collections.abc import Sequence
from itertools import groupby
from operator import attrgetter

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.half_days import against_half
from portal.office.bookings.days import coming_days, suggested
from portal.office.bookings.forms import (
    OfferForm,
    PutOffForm,
    ReasonForm,
    TreatedForm,
    wishes,
)
from portal.office.home.views import office_today
from portal.office.overview import SiteOverview
from portal.office.sites.views import A_PAGE, get_site, link_reason
from portal.office.told import told, told_why
from portal.requests.access import applicator_required
from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.visits import booking as actions
from readiness.actions.visits import putting_off
from readiness.facts import referral_facts
from readiness.models import Booking
from readiness.models.booking import BookingPriority, ByPriority
from readiness.models.local_days import LocalDays
from readiness.rules.site.assessment import Reason
from readiness.wording.cautions import on_the_day
from readiness.wording.saying import Tone

CANCEL, TURN_AWAY, TREAT, PUT_OFF = "cancel", "turn_away", "treat", "put_off"
DATED = (BookingPriority.TODAY, BookingPriority.THIS_WEEK, BookingPriority.LATER)


@applicator_required
def bookings(request):
    """Every open booking, the most urgent first, 25 a page; `show` is one `BookingPriority`."""
    today, days = office_today(), LocalDays.at(clock.now())
    counts = Booking.objects.counts_by_priority(days)
    show = request.GET.get("show", "")
    show = show if show in BookingPriority.values else ""
    shown = {show: counts.get(show, 0)} if show else counts
    found = ByPriority(Booking.objects.select_related("site__builder"), days, shown)
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "today": today,
        "page": page,
        "sections": [
            (priority, BookingPriority(priority).label, counts.get(priority, 0), list(rows))
            for priority, rows in groupby(page.object_list, key=attrgetter("priority"))
        ],
        "show": show,
        "shown": [
            ("", _("All open"), sum(counts.values())),
            *(
                (priority, priority.label, counts.get(priority, 0))
                for priority in BookingPriority
                if priority in counts
            ),
        ],
        "query": f"show={show}&" if show else "",
        "nothing_dated": not any(priority in counts for priority in DATED),
    }
    return render(request, "portal/office/bookings/bookings.html", context)


@applicator_required
def booking(request, pk):
    """The site's booking: offer a day (POST), or what can be done with the one there is."""
    site = get_site(request, pk)
    form = OfferForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        doubts = _doubts(request, site, form)
        if doubts:
            return _page(request, site, offer_form=form, doubts=doubts)
        try:
            actions.offer_date(request.user, site, **form.cleaned_data)
        except Refused as refused:
            refusals.add_to_form(form, refused, site)
        else:
            messages.success(request, f"{_('Day offered.')} {told(site)}")
            return redirect("office:site", pk)
    return _page(request, site, offer_form=form)


def _doubts(request, site, form) -> tuple[str, ...]:
    """What is against the day, unless it was said already and the day is offered all the same."""
    day, half = form.cleaned_data["day"], form.cleaned_data["half"]
    if day is None or request.POST.get("all_the_same") == f"{day.isoformat()}/{half}":
        return ()
    return against_half(site, SiteOverview.of(site).state.facts(), day, half)


def _page(request, site, **forms):
    """The booking page, with whichever form came back for mending."""
    overview = SiteOverview.of(site)
    found, assessment = overview.state.booking, overview.state.assessment
    today = overview.today
    context = {
        "site": site,
        "overview": overview,
        "booking": found,
        "turned_away": overview.state.facts().turned_away,
        "is_closed": overview.state.facts().are_termites_open,
        "limits": [one for one in overview.state.referrals if referral_facts(one).bars_wall],
        "confirmed": found is not None and found.state == Booking.State.CONFIRMED,
        "tone": _tone(overview, assessment.booking_reasons),
        "reasons": [link_reason(reason, site) for reason in assessment.booking_reasons],
        "cautions": on_the_day(overview.state.items),
        "wishes": wishes(found, today),
        "days": coming_days(site, overview.state.facts()),
        "today": today,
        "day_has_come": found is not None and found.day is not None and found.day <= today,
        "past_bookings": site.bookings.exclude(closed_at=None).order_by("-closed_at"),
        "offer_form": OfferForm(),
        "put_off_form": _put_off_form(overview),
        "cancel_form": ReasonForm(
            label=_("Why is it cancelled?"),
            prefix=CANCEL,
            required=found is not None and found.state == Booking.State.CONFIRMED,
        ),
        "turn_away_form": ReasonForm(label=_("What was not ready?"), prefix=TURN_AWAY),
        "treated_form": TreatedForm(prefix=TREAT),
        **forms,
    }
    return render(request, "portal/office/bookings/booking.html", context)


def _put_off_form(overview: SiteOverview) -> PutOffForm | None:
    """With the next half-day that suits, so that rain takes two taps."""
    found = overview.state.booking
    if found is None or found.state != Booking.State.CONFIRMED:
        return None
    day, half = suggested(overview.site, overview.state.facts(), found)
    initial = {"day": day, "half": half, "seen": found.booked}
    return PutOffForm(prefix=PUT_OFF, initial=initial)


def _tone(overview: SiteOverview, reasons: Sequence[Reason]) -> Tone:
    """How the page's answer looks."""
    facts = overview.state.facts()
    if facts.booking and facts.booking.state == Booking.State.CONFIRMED and not reasons:
        return Tone.GO
    return Tone.STOP if facts.turned_away or facts.are_termites_open else Tone.WAIT


def _get_booking(request, pk) -> Booking:
    visible = Booking.objects.visible_to(request.user).select_related("site__builder")
    return get_object_or_404(visible, pk=pk)


@applicator_required
@require_POST
def cancel(request, pk):
    """Cancel a booking; a confirmed day needs a reason."""
    found = _get_booking(request, pk)
    form = ReasonForm(request.POST, label=_("Why is it cancelled?"), prefix=CANCEL, required=False)
    return _close(
        request,
        found,
        "cancel_form",
        form,
        lambda: actions.cancel_booking(request.user, found, reason=form.cleaned_data["reason"]),
        f"{_('Booking cancelled.')} {told(found.site)}",
    )


@applicator_required
@require_POST
def put_off(request, pk):
    """Put the booked day off, and offer another or none yet."""
    found = _get_booking(request, pk)
    form = PutOffForm(request.POST, prefix=PUT_OFF)
    return _close(
        request,
        found,
        "put_off_form",
        form,
        lambda: putting_off.put_off(request.user, found, **form.cleaned_data),
        f"{_('Put off.')} {told_why(found.site)}",
    )


@applicator_required
@require_POST
def turned_away(request, pk):
    """We came, and the site was not ready."""
    found = _get_booking(request, pk)
    form = ReasonForm(request.POST, label=_("What was not ready?"), prefix=TURN_AWAY)
    return _close(
        request,
        found,
        "turn_away_form",
        form,
        lambda: actions.turn_away(request.user, found, reason=form.cleaned_data["reason"]),
        f"{_('Recorded as turned away.')} {told_why(found.site)}",
    )


@applicator_required
@require_POST
def treated(request, pk):
    """The treatment is done: what was used."""
    found = _get_booking(request, pk)
    form = TreatedForm(request.POST, prefix=TREAT)
    return _close(
        request,
        found,
        "treated_form",
        form,
        lambda: actions.record_treatment(request.user, found, **form.cleaned_data),
        _("Treatment recorded. Its paper is being made."),
    )


def _close(request, found, name, form, action, done):
    """Do what ends a booked day, or show its page again with the form as it was typed."""
    site = found.site
    if form.is_valid():
        try:
            action()
        except Refused as refused:
            refusals.add_to_form(form, refused, site)
        else:
            messages.success(request, done)
            return redirect("office:site", site.pk)
    return _page(request, site, **{name: form}, opened=name)

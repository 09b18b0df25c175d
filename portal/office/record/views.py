"""What a site keeps: its Record, its photos, and the e-mails about it."""

from collections.abc import Iterable
from datetime import datetime
from operator import attrgetter

from django.contrib import messages as notices
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from portal.office.sites.views import get_site
from portal.requests.access import applicator_required
from readiness import clock
from readiness.actions.emails import drop_message, retry_message
from readiness.actions.errors import Refused
from readiness.actions.permission import require_owner
from readiness.evidence.checking import check_business, site_break
from readiness.models import Builder, Invitation, Message, RecordEntry, User
from readiness.models.verbs import Verb
from readiness.wording.record import BUSINESS, OFFICE, folds

A_PAGE = 50
ENTRIES_A_PAGE = 200  # most of them folded away
PHOTOS_A_PAGE = 48


@applicator_required
def record(request, pk):
    """The history of a site, newest first, and whether its chain holds."""
    site = get_site(request, pk)
    entries = site.record.select_related("actor").prefetch_related("said").order_by("-sequence")
    page = Paginator(entries, ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    walls = {str(run.pk): run.label for run in site.wall_runs.all()}
    context = {
        "site": site,
        "page": page,
        "folds": folds(page.object_list, site.zone, OFFICE, walls),
        "broken": site_break(site),
        "checked_at": clock.now(),
        "held_since": _held_since(entries),
    }
    return render(request, "portal/office/record/record.html", context)


def _held_since(entries: QuerySet[RecordEntry]) -> datetime | None:
    """From when on rows can be compared: an upgrade takes what was there as it found it."""
    times = entries.order_by("sequence").values_list("at", flat=True)
    return times.filter(verb=Verb.DIGESTS_BEGUN).first() or times.first()


@applicator_required
def business(request):
    """The business's own Record, newest first: accounts, rights and settings. Owners only."""
    require_owner(request.user)
    entries = RecordEntry.objects.filter(site=None).select_related("actor").prefetch_related("said")
    page = Paginator(entries.order_by("-sequence"), ENTRIES_A_PAGE).get_page(
        request.GET.get("page")
    )
    found = check_business()
    context = {
        "page": page,
        "site": None,
        "folds": folds(page.object_list, timezone.get_current_timezone(), BUSINESS, _names(page)),
        "broken": found.first_break,
        "checked_at": clock.now(),
        "held_since": _held_since(entries),
    }
    return render(request, "portal/office/record/business.html", context)


def _names(page: Iterable[RecordEntry]) -> dict[str, str]:
    """What the people, builders and invited of these entries are called, by their id."""
    told = [entry.data for entry in page]
    names: dict[str, str] = {}
    for key, model, call in (
        ("person", User, str),
        ("builder", Builder, str),
        ("invitation", Invitation, attrgetter("email")),
    ):
        found = model.objects.in_bulk([data[key] for data in told if key in data])
        names |= {str(row.pk): call(row) for row in found.values()}
    return names


@applicator_required
def photos(request, pk):
    """Every photo of a site, newest first, with what it shows."""
    site = get_site(request, pk)
    found = (
        site.photos.kept()
        .with_originals()
        .select_related("item", "fix__item", "run_check__wall_run", "referral", "uploaded_by")
        .order_by("-received_at", "id")
    )
    page = Paginator(found, PHOTOS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "portal/office/record/photos.html", {"site": site, "page": page})


@applicator_required
def emails(request, pk):
    """The e-mails about a site: sent, waiting, or failed and why."""
    site = get_site(request, pk)
    found = Message.objects.filter(site=site).select_related("to")
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    return render(request, "portal/office/record/emails.html", {"site": site, "page": page})


@applicator_required
@require_POST
def email_retry(request, pk):
    """Send an e-mail again that did not go."""
    found = _message(pk)
    try:
        retry_message(request.user, found)
        said = _("Trying again to send the e-mail to %(address)s.")
        notices.success(request, said % {"address": found.address})
    except Refused as refused:
        notices.error(request, str(refused))
    return _back_to_emails(found)


@applicator_required
@require_POST
def email_drop(request, pk):
    """Leave an e-mail unsent that did not go."""
    found = _message(pk)
    drop_message(request.user, found)
    said = _("The e-mail to %(address)s will not be sent.")
    notices.success(request, said % {"address": found.address})
    return _back_to_emails(found)


def _message(pk) -> Message:
    return get_object_or_404(Message.objects.select_related("site", "to", "invitation"), pk=pk)


def _back_to_emails(message: Message):
    if message.site_id:
        return redirect("office:emails", message.site_id)
    if message.invitation.builder_id:
        return redirect("office:builder", message.invitation.builder_id)
    return redirect("office:staff")

"""Where every builder's view starts: a thing that this user may see, in its site's own time."""

from functools import wraps

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.requests.access import builder_required
from readiness.models import (
    Booking,
    DefectItem,
    Fix,
    ReadinessConfirmation,
    Site,
    SiteReport,
    TradeLink,
)


def _sites(user):
    return Site.objects.visible_to(user)


FINDERS = {
    "site": lambda user: _sites(user).select_related("builder"),
    "report": lambda user: SiteReport.objects.visible_to(user).select_related("site__builder"),
    "item": lambda user: DefectItem.objects.visible_to(user).select_related(
        "report__site__builder", "wall_run", "disputed_by", "decided_by"
    ),
    "fix": lambda user: Fix.objects.filter(
        item__in=DefectItem.objects.visible_to(user)
    ).select_related("item__report__site"),
    "confirmation": lambda user: ReadinessConfirmation.objects.filter(
        report__in=SiteReport.objects.visible_to(user)
    ).select_related("report__site"),
    "booking": lambda user: Booking.objects.visible_to(user).select_related("site__builder"),
    "link": lambda user: TradeLink.objects.filter(site__in=_sites(user)).select_related("site"),
}


def site_of(thing) -> Site:
    """The site that a report, item, fix, confirmation, booking or link belongs to."""
    if isinstance(thing, Site):
        return thing
    if isinstance(thing, Fix):
        return thing.item.report.site
    if isinstance(thing, DefectItem | ReadinessConfirmation):
        return thing.report.site
    return thing.site


def opens(kind: str):
    """View decorator: the address's `pk` is a `kind` that the builder contact may see, else 404.

    The view gets the thing in place of `pk`, and its site's zone as the current time zone. What its
    reader may do there is `request.membership`; screens show no button where not `request.may_act`.
    """
    find = FINDERS[kind]

    def decorate(view):
        @builder_required
        @wraps(view)
        def wrapper(request, pk, **kwargs):
            thing = get_object_or_404(find(request.user), pk=pk)
            site = site_of(thing)
            request.membership = request.user.membership_in(site.builder_id)
            request.may_act = request.membership.may_act
            with timezone.override(site.zone):
                return view(request, thing, **kwargs)

        return wrapper

    return decorate


def posted_to(kind: str, page: str):
    """View decorator for a button's address: as `opens`, and only a POST acts.

    A phone that loads an old tab again, or signing in again after the button, comes by GET: that
    leads to the site's `page` with the button instead of to an empty answer.
    """

    def decorate(view):
        @require_http_methods(["GET", "HEAD", "POST"])
        @opens(kind)
        @wraps(view)
        def wrapper(request, thing, **kwargs):
            if request.method == "POST":
                return view(request, thing, **kwargs)
            messages.warning(
                request, _("Nothing was changed. Press the button again if it is still here.")
            )
            if isinstance(thing, TradeLink):
                return redirect(f"builder:{page}", pk=thing.site_id, trade=thing.trade)
            return redirect(f"builder:{page}", pk=site_of(thing).pk)

        return wrapper

    return decorate

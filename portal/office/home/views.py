"""The first screen of the day: what is for us to do, what is with builders, today, this week."""

from collections.abc import Iterable
from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.shortcuts import render

from portal.office.status.not_through import not_through
from portal.office.status.views import troubles
from portal.requests.access import applicator_required
from readiness import clock
from readiness.models import Booking, Referral, Site, SiteReport, waiting
from readiness.models.local_days import LocalDays
from readiness.operations import upkeep
from readiness.wording.office import review_words

AT_MOST = 10
"""Rows of one block; the list of sites has the rest."""


@applicator_required
def home(request):
    """What is for us to do first; everything else by urgency."""
    today, days = office_today(), LocalDays.at(clock.now())
    asked = Booking.objects.to_offer().select_related("site__builder")
    past = Booking.objects.to_record(days).select_related("site__builder")
    drafts = SiteReport.objects.drafts().select_related("site__builder").order_by("created_at")
    week = Booking.objects.this_week(days).select_related("site__builder")[:50]
    kept = upkeep.look()
    review, with_builder = _with_sites(
        waiting.to_review(days, AT_MOST + 1), waiting.on_builders(days, AT_MOST + 1)
    )
    to_decide = Referral.objects.to_decide().select_related("site__builder", "wall_run")
    context = {
        "today": today,
        "to_decide": to_decide[: AT_MOST + 1],
        "review": review,
        "asked": asked[: AT_MOST + 1],
        "past": past[: AT_MOST + 1],
        "drafts": drafts[: AT_MOST + 1],
        "with_builder": with_builder,
        "week": _by_day(week, days),
        "at_most": AT_MOST,
        "troubles": list(troubles(kept)),
        "not_through": not_through(AT_MOST) if _has_failures(kept) else None,
    }
    context["nothing_on_me"] = not any(
        context[name] for name in ("to_decide", "review", "asked", "past", "drafts", "not_through")
    )
    context["has_sites"] = bool(context["with_builder"]) or Site.objects.exists()
    return render(request, "portal/office/home/home.html", context)


def _has_failures(kept: upkeep.Upkeep) -> bool:
    return any(queue.failed or queue.stumbles for queue in kept.queues)


def office_today():
    """The date where the business is."""
    return clock.now().astimezone(ZoneInfo(settings.TIME_ZONE)).date()


def _by_day(bookings: Iterable[Booking], days: LocalDays) -> list[tuple[date, bool, list]]:
    """Days with their bookings, and whether it is today where these are.

    While a day has begun at some sites only it comes twice, those sites' first.
    """
    found: dict[tuple[date, bool], list[Booking]] = {}
    for booking in bookings:
        is_later = booking.day != days.of(booking.site.state)
        found.setdefault((booking.day, is_later), []).append(booking)
    return [(day, not is_later, found[day, is_later]) for day, is_later in sorted(found)]


def _with_sites(*lists: list[dict]) -> list[list[dict]]:
    """The counted rows of some lists, each with its site; one query for all of them."""
    found = {row["report__site"] for rows in lists for row in rows}
    sites = Site.objects.select_related("builder").in_bulk(found)
    return [
        [
            {
                **row,
                "site": sites[row["report__site"]],
                "words": review_words(row["count"] - row["disagreed"], row["disagreed"]),
            }
            for row in rows
        ]
        for rows in lists
    ]

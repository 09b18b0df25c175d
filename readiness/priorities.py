"""Each site's priority for its builder, stored beside it: worked out, renewed, and sorted by.

`readiness.rules.site.priority` says what it is. It is stored in the transaction that appends to the
site's Record, so that nothing which is done leaves it behind; what time alone changes is marked
with a moment, and from that moment on the row is worked out anew wherever it is read.
"""

import logging
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Case, F, IntegerField, Value, When

from readiness import clock
from readiness.facts import SiteState
from readiness.models import LastDone, Site
from readiness.models.site import SiteQuerySet
from readiness.read_once import reading_anew
from readiness.rules.site.priority import VERSION, SitePriority, priority_of

log = logging.getLogger(__name__)

COLUMNS = ("need", "need_first_due", "need_until", "to_review", "to_fix")
LAST_DONE = "ranks"
BATCH = 100
AT_ONCE = 1000
"""How many stale rows a page works out by itself; the background keeps them far fewer."""
PUT_OFF = timedelta(hours=1)
"""A site that can't be worked out is tried again after this, so as not to hold up the others."""


def work_out(sites: Iterable[Site], now: datetime | None = None) -> dict:
    """The needs of some sites by their key, in a constant number of queries.

    By the settings as they are now: a rank that was stored by older ones, after these were marked
    for working out anew (`mark_all`), would stay so.
    """
    now = now or clock.now()
    with reading_anew():
        return _work_out(sites, now)


def _work_out(sites: Iterable[Site], now: datetime) -> dict:
    return {state.site.pk: priority_of(state.facts(now)) for state in SiteState.for_list(sites)}


def store(site: Site) -> None:
    """Write down what a site asks of its builder, in the transaction that changed it."""
    _set(site, work_out([site])[site.pk])
    Site.objects.filter(pk=site.pk).update(**{name: getattr(site, name) for name in COLUMNS})


def _set(site: Site, need: SitePriority) -> None:
    site.need, site.need_first_due, site.need_until = need.rank, need.first_due, need.until
    site.to_review, site.to_fix = need.to_review, need.to_fix


def by_priority(sites: SiteQuerySet, now: datetime | None = None) -> SiteQuerySet:
    """`sites` with what their builder can act on first, as it is now.

    The stored ranks do, except those that time has overtaken: these are worked out here.
    """
    stale = list(sites.order_by("need_until").stale(now or clock.now())[:AT_ONCE])
    if not stale:
        return sites.order_by("need", F("need_first_due").asc(nulls_last=True), "-created_at", "id")
    needs = work_out(stale, now)
    rank = Case(
        *[When(pk=pk, then=Value(need.rank)) for pk, need in needs.items()],
        default=F("need"),
        output_field=IntegerField(),
    )
    # Of a stored row only the rank can be stale: a due date changes with something done.
    return sites.alias(need_now=rank).order_by(
        "need_now", F("need_first_due").asc(nulls_last=True), "-created_at", "id"
    )


def mark_all() -> int:
    """Have the ranks of all open sites worked out anew, after a change that bears on them all."""
    return Site.objects.open().update(need_until=clock.now())


def renew(at_most: int | None = None) -> int:
    """Work out what time or a new policy made stale, and return how many sites that was.

    In short transactions of `BATCH` sites, up to `at_most` of them; safe beside anything else.
    """
    _mark_after_upgrade()
    done = 0
    while at_most is None or done < at_most:
        found = _renew_batch(BATCH if at_most is None else min(BATCH, at_most - done))
        done += found
        if not found:
            break
    return done


def _mark_after_upgrade() -> None:
    """A version of the portal that ranks otherwise makes every stored rank stale."""
    noted = LastDone.objects.filter(pk=LAST_DONE).first()
    if noted is None or noted.details.get("version") != VERSION:
        with transaction.atomic():
            mark_all()
            LastDone.note(LAST_DONE, version=VERSION)


@transaction.atomic
def _renew_batch(size: int) -> int:
    now = clock.now()
    # Locked as actions lock them; a site that is being acted on gets its rank from that.
    found = Site.objects.open().stale(now).select_for_update(of=("self",), skip_locked=True)
    sites = list(found.order_by("need_until")[:size])
    if not sites:
        return 0
    needs = _work_out_each(sites, now)
    for site in sites:
        _set(site, needs[site.pk])
    Site.objects.bulk_update(sites, COLUMNS)
    return len(sites)


def _work_out_each(sites: list[Site], now: datetime) -> dict:
    """Of all at once; where that fails one by one, so that one site does not stop the others."""
    try:
        return work_out(sites, now)
    except Exception as error:
        failed = error
    if len(sites) > 1:
        return {pk: need for site in sites for pk, need in _work_out_each([site], now).items()}
    [site] = sites
    log.error("The rank of site %s could not be worked out", site.pk, exc_info=failed)
    return {site.pk: replace(stored(site), until=now + PUT_OFF)}


def stored(site: Site) -> SitePriority:
    """What is stored of a site."""
    return SitePriority(
        site.need, site.need_first_due, site.need_until, site.to_review, site.to_fix
    )


def differences(
    sites: SiteQuerySet, now: datetime | None = None
) -> list[tuple[Site, SitePriority]]:
    """Open sites whose stored rank is not what the rules say now, with what they say."""
    now = now or clock.now()
    fresh = sites.open().exclude(pk__in=sites.stale(now).values("pk"))
    found = []
    for first in range(0, fresh.count(), BATCH):
        page = list(fresh.order_by("pk")[first : first + BATCH])
        needs = work_out(page, now)
        found += [(site, needs[site.pk]) for site in page if not _is_stored(site, needs[site.pk])]
    return found


def _is_stored(site: Site, need: SitePriority) -> bool:
    """The moment may be an earlier one than today's would be, never a later one."""
    kept = stored(site)
    if replace(kept, until=None) != replace(need, until=None):
        return False
    if need.until is None:
        return True
    return kept.until is not None and kept.until <= need.until

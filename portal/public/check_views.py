"""Check a file: the browser works out its SHA-256, and the page says whether it is one of ours."""

import ipaddress

from allauth.account.adapter import get_adapter
from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from readiness.evidence import known_files
from readiness.evidence.known_files import KnownPaper
from readiness.wording import check_file as say

A_MINUTE = 30
"""Checks from one address."""


@login_not_required
@require_safe
def check(request):
    """The page, and with a digest in the address also the answer."""
    typed = request.GET.get("digest", "")
    size, root = request.GET.get("size", "")[:20], request.GET.get("root", "")[:60]
    context = {"typed": typed[:200], "size": size, "root": root}
    if (typed or size or root) and not _may_ask(request):
        return render(
            request, "portal/public/check.html", context | {"trouble": say.too_often()}, status=429
        )
    if size or root:
        context |= _checkpoint(size, root)
    if typed:
        context |= _answer(typed)
    return render(request, "portal/public/check.html", context)


def _answer(typed: str) -> dict:
    digest = known_files.clean_digest(typed[:1000])
    if not digest:
        return {"trouble": say.no_digest()}
    found, zone = known_files.find(digest), timezone.get_current_timezone()
    if found is None:
        return {"digest": digest, "answer": say.not_ours()}
    if isinstance(found, KnownPaper):
        made = say.when(found.made_at, found.zone)
        words = say.paper(found.title, found.report, found.edition, found.address, made)
    elif found.deleted_at:
        words = say.deleted_photo(say.when(found.since, zone), say.when(found.deleted_at, zone))
    else:
        words = say.photo(say.when(found.since, zone))
    return {"digest": digest, "answer": words, "is_ours": True}


def _checkpoint(size: str, root: str) -> dict:
    found = known_files.checkpoint(size, root)
    if found is None:
        return {"checkpoint": say.checkpoint_not_ours()}
    made = say.when(found.made_at, timezone.get_current_timezone())
    return {"checkpoint": say.checkpoint_ours(found.size, made), "checkpoint_is_ours": True}


def _may_ask(request) -> bool:
    """Counts what comes from one address in a minute; a network of IPv6 counts as one."""
    address = ipaddress.ip_address(get_adapter(request).get_client_ip(request))
    if address.version == 6:
        address = ipaddress.ip_network(f"{address}/64", strict=False).network_address
    key = f"check-a-file:{address}"
    cache.add(key, 0, 60)
    try:
        return cache.incr(key) <= A_MINUTE
    except ValueError:  # it ran out between the two
        return True

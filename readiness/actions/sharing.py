"""A read-only link to one trade's fix list, for people without an account."""

import uuid
from datetime import timedelta

from django.core import signing
from django.db import transaction

from readiness import clock
from readiness.actions import limits
from readiness.actions.permission import require_visible
from readiness.evidence.record import append, lock_site
from readiness.facts import rule_values
from readiness.models import Site, TradeLink, User
from readiness.models.verbs import Verb


@transaction.atomic
def share_trade_list(
    actor: User, site: Site, trade: str, *, link_id: uuid.UUID | None = None
) -> TradeLink:
    """Make a link to one trade's list that works for the days the business has set.

    The same `link_id` twice is one link, until that one was stopped or has run out.
    """
    site = lock_site(site.pk)
    require_visible(actor, site)
    now = clock.now()
    taken = TradeLink.objects.filter(pk=link_id)
    known = taken.usable(now).filter(site=site, trade=trade).first()
    if known:
        return known
    limits.require_room_for_a_link(actor)
    link = TradeLink.objects.create(
        pk=uuid.uuid4() if link_id is None or taken.exists() else link_id,
        site=site,
        trade=trade,
        created_by=actor,
        created_at=now,
        expires_at=now + timedelta(days=int(rule_values()["shared_list_valid_days"])),
    )
    append(site, actor, Verb.LIST_SHARED, {"link": str(link.pk), "trade": trade}, rows=[link])
    return link


@transaction.atomic
def revoke_trade_link(actor: User, link: TradeLink) -> TradeLink:
    """Stop a link from working."""
    site = lock_site(link.site_id)
    require_visible(actor, site)
    link = TradeLink.objects.get(pk=link.pk)
    if link.revoked_at is None:
        link.revoked_at = clock.now()
        link.save(update_fields=["revoked_at"])
        append(site, actor, Verb.LIST_REVOKED, {"link": str(link.pk)}, rows=[link])
    return link


def find_link(token: str) -> TradeLink | None:
    """The link of a token, if the token is whole and the link still works."""
    try:
        link_id = TradeLink.signer().unsign(token)
    except signing.BadSignature:
        return None
    usable = TradeLink.objects.usable(clock.now()).select_related("site__builder")
    return usable.filter(pk=link_id).first()

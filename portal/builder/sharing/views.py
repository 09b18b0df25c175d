"""One trade's fix list as the builder shares and prints it, and its links."""

import uuid

import segno
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.builder.access import opens, posted_to
from portal.builder.cards import ItemLists, cards_of_state
from portal.requests.ids import client_id
from readiness import clock
from readiness.actions import sharing
from readiness.actions.errors import Refused
from readiness.facts import SiteState
from readiness.models import Site, TradeLink
from readiness.rules.defects.catalogue import TRADES


@require_http_methods(["GET", "HEAD", "POST"])
@opens("site")
def share(request, site, trade):
    """The list of one trade, its live links, and a new link when asked for."""
    if trade not in TRADES:
        raise Http404
    if request.method == "POST":
        try:
            sharing.share_trade_list(
                request.user, site, trade, link_id=client_id(request.POST.get("link_id"))
            )
            messages.success(request, _("A new link is ready to send."))
        except Refused as refusal:
            messages.error(request, str(refusal))
        return redirect("builder:share", pk=site.pk, trade=trade)
    state = SiteState.of(site, with_levels=False)
    cards = [card for card in cards_of_state(state) if card.item.trade == trade]
    links = live_links(site, trade)
    return render(
        request,
        "portal/builder/sharing/share.html",
        {
            "site": site,
            "state": state,
            "trade": trade,
            "trade_name": TRADES[trade],
            "cards": ItemLists.of(cards).open,
            "links": links,
            "code": qr_code(links[0].url) if links else "",
            "link_id": uuid.uuid4(),
        },
    )


def live_links(site: Site, trade: str) -> list[TradeLink]:
    """Links that work now, newest first."""
    links = TradeLink.objects.usable(clock.now()).filter(site=site, trade=trade)
    return list(links.select_related("created_by")[:20])


def qr_code(url: str) -> SafeString:
    """The address as a QR code (ISO/IEC 18004), inline SVG of the page's own ink."""
    code = segno.make(url, error="m", micro=False)
    drawn = code.svg_inline(scale=4, border=4, omitsize=True, svgclass="qr", lineclass=None)
    return mark_safe(drawn)  # noqa: S308 - segno draws it from an address of ours


@posted_to("link", "share")
def revoke(request, link):
    """Stop a link from working."""
    sharing.revoke_trade_link(request.user, link)
    messages.success(request, _("Cancelled. The link no longer works."))
    return redirect("builder:share", pk=link.site_id, trade=link.trade)

"""What a trade sees behind a shared link: one list, read-only, without an account."""

from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from portal.builder.cards import ItemLists, cards_for
from portal.photos.serving import serve_size
from portal.technician import whom_to_call
from readiness import clock
from readiness.actions.sharing import find_link
from readiness.models import Business, DefectItem, Photo, TradeLink
from readiness.photos.sizes import SIZES
from readiness.rules.defects.catalogue import TRADES


def behind_link(view):
    """View decorator: public, for whoever has a link that works; kept from search engines."""

    @login_not_required
    @require_safe
    @wraps(view)
    def wrapper(request, token, **kwargs):
        link = find_link(token)
        if link is None:
            return _unlisted(render(request, "portal/trade/gone.html", status=404))
        with timezone.override(link.site.zone):
            return _unlisted(view(request, link, **kwargs))

    return wrapper


def _unlisted(response):
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    response["Referrer-Policy"] = "no-referrer"
    response.setdefault("Cache-Control", "private, no-cache")
    return response


def items_of(link: TradeLink):
    """The items of the link's trade that still hold the booking, in the site's current report."""
    items = DefectItem.objects.current().holding()
    return items.filter(report__site=link.site_id, trade=link.trade)


@behind_link
def trade_list(request, link):
    """The list as it stands now."""
    items = items_of(link).select_related("wall_run", "report").order_by("number")
    today = clock.now().astimezone(link.site.zone).date()
    cards = ItemLists.of(cards_for(items, today)).open
    context = {
        "link": link,
        "site": link.site,
        "trade_name": TRADES[link.trade],
        "cards": cards,
        "report": cards[0].item.report if cards else None,
        "left": sum(card.is_to_do for card in cards),
        "business": Business.current(),
        "termites_open": link.site.referrals.keeping_closed().exists(),
        "call": whom_to_call(is_ours=False),
        "now": clock.now(),
    }
    return render(request, "portal/trade/trade_list.html", context)


@behind_link
def photo(request, link, photo_id, size):
    """A photo of one of the link's own items, as it may be shown to others."""
    if size not in SIZES:
        raise Http404
    photos = Photo.objects.kept().with_originals().filter(item__in=items_of(link))
    return serve_size(request, get_object_or_404(photos, pk=photo_id), size)

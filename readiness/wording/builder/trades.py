"""Whose trade the things to fix are, in a builder's sentence: "2 for the bricklayer"."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping

from django.utils.translation import gettext as _

from readiness.rules.defects.catalogue import TRADES
from readiness.rules.vocabulary import Trade
from readiness.rules.words import listed


def trade_words(trades: Iterable[str]) -> str:
    """ "2 for the bricklayer": both of two trades, else the one with most.

    "" where all is the builder's own; "for 3 trades" where each of several has one.
    """
    counts = Counter(trades).most_common()
    if len(counts) == 1:
        return _of_one_trade(*counts[0])
    if len(counts) > 2 and counts[0][1] == 1:
        return _("for %(count)d trades") % {"count": len(counts)}
    named = counts[:2] if len(counts) == 2 else counts[:1]
    return listed(
        _("%(count)d for %(trade)s") % {"count": count, "trade": _trade(trade)}
        for trade, count in named
    )


def _of_one_trade(trade: str, count: int) -> str:
    if trade == Trade.BUILDER:
        return ""
    if count == 1:
        return _("for %(trade)s") % {"trade": _trade(trade)}
    words = _("both for %(trade)s") if count == 2 else _("all for %(trade)s")
    return words % {"trade": _trade(trade)}


def _trade(slug: str) -> str:
    """How a trade reads after "for"."""
    own = _AFTER_FOR.get(slug)
    return own() if own else _("the %(trade)s") % {"trade": TRADES[slug].lower()}


_AFTER_FOR: Mapping[str, Callable[[], str]] = {
    Trade.BUILDER: lambda: _("you"),
    Trade.EARTHWORKS: lambda: _("earthworks"),
    Trade.PAVING: lambda: _("paving"),
    Trade.SEALING: lambda: _("sealing"),
    Trade.CLEANER: lambda: _("the cleaner"),
}
"""Where "the" and the trade's name does not do."""

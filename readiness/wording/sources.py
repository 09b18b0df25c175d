"""Where values come from, as people read it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.rules.values.rule_value import AT_LEAST, AT_MOST
from readiness.rules.values.sources import COMING, COMING_ON, IN_FORCE, Source, SourceKind
from readiness.wording import dates

KNOWN: Mapping[SourceKind, str] = {
    SourceKind.SEEN: later("read"),
    SourceKind.QUOTED: later("quoted"),
}
"""How a source is known. Reports of earlier versions did not keep it."""


def with_kind(source: Source) -> str:
    """A source and how it is known: "ABCB ... 3.3.3(a), 2022 (read)"."""
    known = KNOWN.get(source.kind)
    if not known:
        return source.words
    return _("%(source)s (%(known)s)") % {"source": source.words, "known": _(known)}


def meaning() -> str:
    """What stands beside a source."""
    return _(
        "“Read” means in the source's own text, “quoted” in another public text. The year is the "
        "edition that was read."
    )


def beside(said: str, source: str) -> str:
    """A number, or a sentence that ends with one, with its source beside it; "" for none."""
    if not source:
        return said
    end = "." if said.endswith(".") else ""
    return _("%(said)s (%(source)s)") % {"said": said.removesuffix("."), "source": source} + end


def may_be_set(low: str, high: str, bound: str) -> str:
    """From what to what a business may set a value, and which end is its source's."""
    allowed = _("Can be set from %(low)s to %(high)s") % {"low": low, "high": high}
    if bound == AT_LEAST:
        return _("%(allowed)s: more than the source asks for, not less.") % {"allowed": allowed}
    if bound == AT_MOST:
        return _("%(allowed)s: less than the source allows, not more.") % {"allowed": allowed}
    return f"{allowed}."


def editions(today: date) -> str:
    """Which edition of the code is in force."""
    told = {"now": IN_FORCE, "next": COMING, "day": dates.full_date(COMING_ON)}
    if today < COMING_ON:
        words = _("NCC %(now)s is in force; some states adopt NCC %(next)s on %(day)s.")
    else:
        words = _(
            "Some states adopted NCC %(next)s on %(day)s: check which edition holds for your site."
        )
    return words % told

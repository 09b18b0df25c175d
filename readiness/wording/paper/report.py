"""What the site report says."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

from readiness.wording.paper.parts import things_to_fix

# Names


def name(number: int) -> str:
    """The paper's name."""
    return _("Site report %(number)d") % {"number": number}


def description() -> str:
    """What the file's properties say of it."""
    return _("Pre-treatment site report: what to fix, for whom and by when")


# The answer on page one


def treated(day: str, held: int) -> str:
    """Of a house that was treated: what was found since."""
    if not held:
        return _("Treated on %(day)s. Nothing to fix found since.") % {"day": day}
    return _("Treated on %(day)s. Found since: %(things)s.") % {
        "day": day,
        "things": things_to_fix(held),
    }


def held(count: int) -> str:
    """How many things come before a booking."""
    return ngettext(
        "%(count)d thing must be fixed before we can book.",
        "%(count)d things must be fixed before we can book.",
        count,
    ) % {"count": count}


def all_due(count: int, day: str) -> str:
    """The one day by which all is due."""
    text = _("Fix it by %(day)s.") if count == 1 else _("Fix all by %(day)s.")
    return text % {"day": day}


def first_and_last_due(first: str, last: str) -> str:
    """The first day and the last of several."""
    return _("The first is due on %(first)s, the last on %(last)s.") % {
        "first": first,
        "last": last,
    }


def can_confirm() -> str:
    """That nothing was found in the way."""
    return _("Nothing to fix before we can book. The builder can confirm readiness.")


def others_block(count: int, is_more: bool) -> str:
    """How many reasons beside items there are; the page lists them below."""
    text = (
        ngettext("%(count)d more thing blocks it.", "%(count)d more things block it.", count)
        if is_more
        else ngettext(
            "%(count)d thing blocks the booking.", "%(count)d things block the booking.", count
        )
    )
    return text % {"count": count}


def levels_ask(walls: str) -> str:
    """That levels fall short while nobody made that an item; a person decides."""
    return _(
        "The levels show a problem on %(walls)s that is not listed as an item: see Walls."
    ) % {"walls": walls}  # fmt: skip


# The facts of the visit

LABELS: Mapping[str, str] = {
    "visited": later("Visited"),
    "issued": later("Report issued"),
    "wanted": later("Treatment wanted on"),
    "weather": later("Weather"),
    "house_type": later("House type"),
    "replaces": later("Replaces"),
    "walls": later("Walls"),
}


def earlier_report(number: int) -> str:
    """Which report this one replaces."""
    return _("report %(number)d") % {"number": number}


def walls_in_all(count: int, length: str) -> str:
    """ "10 walls, 48 m in all"."""
    text = ngettext("%(count)d wall, %(length)s", "%(count)d walls, %(length)s in all", count)
    return text % {"count": count, "length": length}


def checked(moment: str, person: str) -> str:
    """When a wall was walked, and by whom."""
    return _("%(moment)s, by %(person)s") % {"moment": moment, "person": person}


def own_rates() -> str:
    """Of the quantities: what has no source beside it."""
    return _("Rates and sizes without a source are this business's own settings.")


def if_we_did_it(hours: str) -> str:
    """What it would take if the applicator put everything right; hours and money give a rate."""
    return _(
        "If the applicator did all the required fixes: about %(hours)s h of work. An estimate, "
        "not a quote. Some of it may be work for another trade only."
    ) % {"hours": hours}

"""What the fix list says, and what papers tell of each fix: who reported it, who checked it."""

from __future__ import annotations

from django.utils.translation import gettext as _

# The fix list of one trade


def name(trade: str) -> str:
    """The paper's name."""
    return _("Fix list: %(trade)s") % {"trade": trade}


def description(trade: str) -> str:
    """What the file's properties say of it."""
    return _("What the %(trade)s has to fix, where and by when") % {"trade": trade.lower()}


# What became of an item


def by(person: str, moment: str) -> str:
    """Who did it, if they are still known, and when."""
    if not person:
        return moment
    return _("by %(person)s, %(moment)s") % {"person": person, "moment": moment}


def withdrawn(by: str) -> str:
    """That nothing is to do any more."""
    return _("Item withdrawn %(by)s") % {"by": by}


def accepted(by: str) -> str:
    """That a fix was accepted."""
    return _("Accepted %(by)s") % {"by": by}


def accepted_on_site(by: str) -> str:
    """That the applicator saw it done, and nobody had reported it."""
    return _("Accepted on site %(by)s") % {"by": by}


def not_checked() -> str:
    """That a fix is reported and nobody looked at it."""
    return _("Not checked yet")


def with_why(by: str, reason: str) -> str:
    """By whom, when and, where it is said, why."""
    return f"{by}: {reason}" if reason else by


def sent_back(by: str) -> str:
    """That a fix did not do; `by` may say why."""
    return _("Sent back %(by)s") % {"by": by}


def earlier(reported: str, sent_back: str) -> str:
    """A fix before the last one."""
    return _("Earlier: reported fixed %(reported)s; sent back %(sent_back)s") % {
        "reported": reported,
        "sent_back": sent_back,
    }


def earlier_on_report(item: int, report: int, reported: str, sent_back: str) -> str:
    """A fix of the item that this one was carried over from."""
    return _(
        "Earlier, as item %(item)d of report %(report)d: reported fixed %(reported)s; sent back "
        "%(sent_back)s"
    ) % {"item": item, "report": report, "reported": reported, "sent_back": sent_back}


def photo_of_fix(kind: str, place: str) -> str:
    """The text alternative of a fix's photo."""
    return _("%(kind)s when reported fixed, %(place)s") % {"kind": kind, "place": place}


def before() -> str:
    """Over the photo of what was wrong."""
    return _("Before")


def after() -> str:
    """Over the photo of the fix."""
    return _("After")


def after_sent_back() -> str:
    """Over the photo of a fix that did not do."""
    return _("Reported fixed, and sent back")

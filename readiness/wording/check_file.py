"""What the page for checking a file answers."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from readiness.wording import dates


def paper(title: str, report: int | None, edition: int, address: str, made: str) -> str:
    """ "This is the site report, report 1, edition 1, of 3 ..., made at ..., unchanged." """
    return _(
        "This is the %(title)s of %(address)s%(which)s, made at %(made)s. It is unchanged."
    ) % {
        "title": title[:1].lower() + title[1:],
        "address": address,
        "which": _which(report, edition),
        "made": made,
    }


def _which(report: int | None, edition: int) -> str:
    if report is None:
        return _(" (edition %(edition)s)") % {"edition": edition}
    return _(" (report %(report)s, edition %(edition)s)") % {"report": report, "edition": edition}


def photo(since: str) -> str:
    return _("We have kept this photo since %(since)s. It is unchanged.") % {"since": since}


def deleted_photo(since: str, until: str) -> str:
    return _(
        "We kept this photo from %(since)s until it was deleted at %(until)s. It is the same file."
    ) % {"since": since, "until": until}


def not_ours() -> str:
    return _("Not one of ours, or changed since.")


def no_digest() -> str:
    return _("That is not a SHA-256 fingerprint: it has 64 characters, 0 to 9 and a to f.")


def checkpoint_ours(size: int, made: str) -> str:
    return _("The code on the paper is ours: we signed it at %(made)s, over %(size)s entries.") % {
        "size": f"{size:,}",
        "made": made,
    }


def checkpoint_not_ours() -> str:
    return _("The code on the paper is not one of ours.")


def too_often() -> str:
    return _("Too many checks from here. Wait a minute, then try again.")


def when(at: datetime, zone: ZoneInfo) -> str:
    return dates.moment(at.astimezone(zone))

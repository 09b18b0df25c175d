"""What the status page says of the portal's own work: what waits, what was given up."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

HEADINGS: Mapping[str, str] = {
    "emails": later("E-mails"),
    "papers": later("Papers"),
    "photos": later("Photos"),
    "moves": later("Photo store"),
    "timestamps": later("Timestamps"),
}
"""Of each queue, by its kind."""


def heading(kind: str) -> str:
    """ "E-mails"."""
    return _(HEADINGS[kind])


def waiting(kind: str, count: int) -> str:
    """ "2 e-mails to send"; "" for none."""
    if not count:
        return ""
    words = {
        "emails": ngettext("%(count)d e-mail to send", "%(count)d e-mails to send", count),
        "papers": ngettext("%(count)d paper to make", "%(count)d papers to make", count),
        "photos": ngettext(
            "%(count)d photo to make smaller sizes of",
            "%(count)d photos to make smaller sizes of",
            count,
        ),
        "moves": ngettext(
            "%(count)d photo on one machine only, to move to the store",
            "%(count)d photos on one machine only, to move to the store",
            count,
        ),
        "timestamps": ngettext("%(count)d timestamp to get", "%(count)d timestamps to get", count),
    }
    return words[kind] % {"count": count}


def given_up(kind: str, count: int) -> str:
    """ "1 could not be sent"; "" for none. Photos on one machine are never given up."""
    if not count:
        return ""
    words = {
        "emails": _("%(count)d could not be sent"),
        "papers": _("%(count)d could not be made"),
        "photos": ngettext(
            "%(count)d has no smaller sizes", "%(count)d have no smaller sizes", count
        ),
        "moves": "%(count)d",
        "timestamps": _("%(count)d could not be had"),
    }
    return words[kind] % {"count": count}


def late(kind: str, count: int) -> str:
    """That something waits too long."""
    return _("%(what)s: the oldest has waited over 10 minutes.") % {"what": waiting(kind, count)}


def worker_stopped() -> str:
    return _(
        "Papers and e-mails are not going out: the background worker has stopped. "
        "Whoever runs the portal has to start it again."
    )


def disk_low(left: str) -> str:
    """`left` is what is free, such as "1.2 GB"."""
    return _("The disk is nearly full: %(left)s left. When it is full, photos are refused.") % {
        "left": left
    }


def no_checkpoint(kind: str) -> str:
    """Why the Record's entries can't be signed: the key, or what was signed is not there."""
    if kind == "BadKey":
        return _(
            "Record entries are not being signed: the signing key can’t be read. "
            "Whoever runs the portal has to look at it (manage.py check)."
        )
    return _(
        "The Record no longer matches its last checkpoint: entries, or the checkpoint itself, were "
        "changed or removed. "
        "Run manage.py verify_record."
    )


def key_changed(day: str) -> str:
    """That checkpoints are signed with another key, which the one before does not vouch for."""
    return _(
        "Since %(day)s the record is signed with another key, which the key before did not sign. "
        "If nobody of yours changed it, find out who did. The About page shows both."
    ) % {"day": day}


def no_authority() -> str:
    """Why a timestamp is not asked for any more."""
    return _("READINESS_TIMESTAMP_URL is not set any more.")


def backup_late(has_one: bool) -> str:
    return _("No back-up in the last two days.") if has_one else _("No back-up has been made.")


def backup_lacks(count: int) -> str:
    """That files which the store lost are missing from the back-up as well."""
    words = ngettext(
        "The last back-up lacks %(count)d photo or paper that is lost or damaged in the store.",
        "The last back-up lacks %(count)d photos or papers that are lost or damaged in the store.",
        count,
    )
    return words % {"count": count}

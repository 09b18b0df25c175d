"""The words of one e-mail, and the lines that several of them have."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from readiness.models import DefectItem, Referral, ReferralDecision
from readiness.rules.defects.catalogue import TRADES, place
from readiness.rules.words import quoted, where
from readiness.wording import dates
from readiness.wording.referrals import outcome_words


@dataclass
class Words:
    """Subject and text of one e-mail: `points` become a list, `link_label` names its button."""

    subject: str
    opening: str
    points: list[str] = field(default_factory=list)
    closing: str = ""
    link_label: str = field(default_factory=lambda: _("Open the site"))


def item_to_fix(item: DefectItem) -> str:
    """An item on one line: number, wall and place, what to do, whose trade, by when."""
    place = ", ".join(filter(None, (item.wall_run.label, where(item.from_mm, item.to_mm))))
    told = {
        "number": item.number,
        "place": place,
        "fix": item.required_fix,
        "trade": TRADES[item.trade],
    }
    if item.due_on is None:
        return _("%(number)d. %(place)s: %(fix)s %(trade)s.") % told
    told["day"] = dates.long_day(item.due_on)
    return _("%(number)d. %(place)s: %(fix)s %(trade)s, by %(day)s.") % told


def item_named(item: DefectItem, reason: str = "") -> str:
    """An item by number, kind and wall, with what somebody wrote about it."""
    named = _("%(number)d. %(kind)s, %(wall)s.") % {
        "number": item.number,
        "kind": item.kind_entry.name,
        "wall": item.wall_run.label,
    }
    return f"{named} {quoted(reason)}" if reason else named


def found_where(referral: Referral) -> str:
    """When and where live termites were found: "Found at 9:15 am on Mon 23 November 2026, North
    wall, at 2.4 m.".
    """
    told = {"moment": dates.moment(referral.noted_at.astimezone(referral.site.zone))}
    if referral.wall_run is None:
        return _("Found at %(moment)s.") % told
    told["where"] = place(referral.wall_run.label, referral.from_mm, referral.to_mm)
    return _("Found at %(moment)s, %(where)s.") % told


def decided(decision: ReferralDecision) -> str:
    """What a technician decided, who and why."""
    return _("%(outcome)s. Decided by %(name)s, licence %(licence)s: %(reason)s") % {
        "outcome": outcome_words(decision.outcome),
        "name": decision.name,
        "licence": decision.licence_number,
        "reason": quoted(decision.reason),
    }


def as_quoted(note: str) -> str:
    """What somebody wrote, "" for nothing."""
    return quoted(note) if note.strip() else ""


def with_reason(sentence: str, note: str) -> str:
    """ "We could not treat it: “Soil is back”.", or the sentence alone where nobody said why."""
    if not note.strip():
        return f"{sentence}."
    return _("%(sentence)s: %(why)s") % {"sentence": sentence, "why": quoted(note)}

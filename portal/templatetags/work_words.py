"""Lengths, places and counts as the applicator's pages say them: ``{% load work_words %}``."""

import re

from django import template

from readiness.rules.defects.catalogue import place as place_words
from readiness.rules.words import counted as counted_words
from readiness.rules.words import metres as metres_words
from readiness.rules.words import where

register = template.Library()

_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:m|mm|L|mL|am|pm)\b)")


@register.filter
def unbroken(text: str) -> str:
    """The text with no line break before a unit, am or pm: "2.4 m" stays together."""
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", str(text))


@register.filter
def metres(length_mm) -> str:
    """ "12.4 m" of a length in mm; nothing for None."""
    return "" if length_mm is None else unbroken(metres_words(length_mm))


@register.filter
def place(item) -> str:
    """Where an item is: "North wall, from 2.4 m to 5.1 m (2.7 m)"."""
    return unbroken(place_words(item.wall_run.label, item.from_mm, item.to_mm))


@register.filter
def along(item) -> str:
    """Where on its wall an item is, below the wall's name: "From 2.4 m to 5.1 m (2.7 m)"."""
    at = where(item.from_mm, item.to_mm)
    if item.from_mm is not None and item.to_mm is not None and item.to_mm > item.from_mm:
        at = f"{at} ({metres_words(item.to_mm - item.from_mm)})"
    return unbroken(at[:1].upper() + at[1:])


@register.filter
def counted(count, noun: str) -> str:
    """ "1 wall", "4 walls"; give "fix,fixes" for other plurals."""
    one, _, many = noun.partition(",")
    return counted_words(int(count), one, many or None)


@register.filter
def litres(used_ml) -> str:
    """ "6.2 L" of mL."""
    return unbroken(f"{used_ml / 1000:g} L") if used_ml else ""


@register.filter
def measured(item) -> str:
    """The measurement of an item with its label and unit; nothing without one."""
    spec = item.kind_entry.measurement
    if spec is None or item.measured_value is None:
        return ""
    doubt = f" ± {item.measured_uncertainty} {spec.unit}" if item.measured_uncertainty else ""
    return unbroken(f"{spec.label}: {item.measured_value} {spec.unit}{doubt}")


@register.filter
def kept_for(kept: dict, item_id) -> str:
    """What was typed about an item and refused, to be shown again."""
    return kept.get(str(item_id), "")


_ABOUT = {
    "invitation": "Invitation",
    "report_issued": "Report issued",
    "fix_said": "Reported fixed",
    "item_accepted": "Accepted",
    "item_sent_back": "Sent back",
    "item_disagreed": "Disputed by the builder",
    "disagreement_decided": "Dispute decided",
    "ready_confirmed": "Readiness confirmed",
    "confirmation_withdrawn": "Confirmation withdrawn",
    "booking_asked": "Day asked for",
    "booking_offered": "Day offered",
    "booking_confirmed": "Booking confirmed",
    "booking_declined": "Offered day turned down",
    "booking_cancelled": "Booking cancelled",
    "booking_turned_away": "Turned away",
    "site_treated": "Treated",
}


@register.filter
def subject(message) -> str:
    """What an e-mail is about, in a few words."""
    return _ABOUT.get(message.kind, message.kind.replace("_", " ").capitalize())

"""Lengths, places and counts as the applicator's pages say them: ``{% load work_words %}``."""

import re

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.rules.defects.catalogue import place as place_words
from readiness.rules.vocabulary import Effect
from readiness.rules.words import counted as counted_words
from readiness.rules.words import metres as metres_words
from readiness.rules.words import where
from readiness.wording import dates, visits
from readiness.wording.cautions import of_item
from readiness.wording.referrals import cause_words, outcome_words
from readiness.wording.referrals import stretch as stretch_words

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
    one, _comma, many = noun.partition(",")
    return counted_words(int(count), one, many or None)


@register.filter
def put_off(one) -> str:
    """ "Thursday 12 March, morning, was put off: rain."."""
    return visits.was_put_off(one.day, one.half, one.cause)


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
def cautions(item) -> tuple[str, ...]:
    """What is said beside an item's required fix, a sentence each."""
    return of_item(item)


@register.filter
def kept_for(kept: dict, item_id) -> str:
    """What was typed about an item and refused, to be shown again."""
    return kept.get(str(item_id), "")


@register.filter
def after(value, words: str) -> str:
    """ ", job 4711" of a job number with ", job " before it; nothing where there is none."""
    return f"{words}{value}" if value else ""


@register.filter
def asked(label: str) -> str:
    """A field's label before what is wrong with it: "Day:", "How long is it?"."""
    return label if label.endswith("?") else f"{label}:"


@register.filter
def paper_name(paper) -> str:
    """ "Fix list, bricklayer, edition 2"; a first edition goes without saying."""
    name = paper.get_kind_display() + after(paper.get_trade_display().lower(), ", ")
    if paper.edition == 1:
        return name
    return _("%(paper)s, edition %(number)s") % {"paper": name, "number": paper.edition}


@register.filter
def job_and_house(site) -> str:
    """ ", job 4711, Banksia 24" behind a site's builder, as far as they are known."""
    return after(site.job_number, _(", job ")) + after(site.house_type, ", ")


@register.filter
def shows(photo) -> str:
    """What a photo shows, in a list: "Item 3, unfilled mortar joint"."""
    if photo.item:
        said = _("Item %(number)s, %(kind)s")
        return said % {"number": photo.item.number, "kind": photo.item.kind_entry.name.lower()}
    if photo.fix:
        return _("Fix of item %(number)s") % {"number": photo.fix.item.number}
    if photo.run_check:
        return _("%(wall)s checked") % {"wall": photo.run_check.wall_run.label}
    if photo.referral_id:
        return photo.referral.get_kind_display()
    if photo.referral_decision_id:
        return _("A technician's decision")
    return _("Kept for the site") if photo.on_site else _("Not attached to anything yet")


@register.filter
def stretch(referral) -> str:
    """Where something is that a technician decides: "East wall, from 0 m to 4.2 m (4.2 m)"."""
    if referral.wall_run is None:
        return ""
    if referral.is_termites:
        return place(referral)
    return unbroken(stretch_words(referral.wall_run.label, referral.from_mm, referral.to_mm))


register.filter("outcome", outcome_words)
register.filter("cause", cause_words)


@register.filter
def used(booking) -> str:
    """ ", 6.2 L used, batch 12" of a treatment; nothing where no liquid was noted."""
    if not booking.used_ml:
        return ""
    said = _(", %(litres)s used") % {"litres": litres(booking.used_ml)}
    return said + after(booking.batch_number, _(", batch "))


@register.filter
def trade_and_due(item) -> str:
    """ "Bricklayer, due Thu 26 Nov"; a due date only of what must be fixed before a booking."""
    trade = item.get_trade_display()
    if item.effect != Effect.HOLDS or not item.due_on:
        return trade
    return _("%(trade)s, due %(day)s") % {"trade": trade, "day": dates.short_day(item.due_on)}


@register.filter
def right_or_wrong(check: dict) -> str:
    """The class of what a rule says of a measurement: none where there is no rule."""
    if not (check["believable"] and check["ok"]):
        return " is-wrong"
    return " is-right" if check["needed"] is not None else ""


E_MAILS = {
    "invitation": later("Invitation"),
    "report_issued": later("Report issued"),
    "fix_said": later("Reported fixed"),
    "item_accepted": later("Accepted"),
    "item_sent_back": later("Sent back"),
    "item_disagreed": later("Disputed by the builder"),
    "disagreement_decided": later("Dispute decided"),
    "ready_confirmed": later("Readiness confirmed"),
    "account_added": later("New account"),
    "account_changed": later("Account or settings changed"),
    "signed_for_builder": later("Readiness confirmed"),
    "confirmation_withdrawn": later("Confirmation withdrawn"),
    "termites_found": later("Live termites found"),
    "termites_decided": later("Live termites, decided"),
    "booking_asked": later("Day asked for"),
    "booking_offered": later("Day offered"),
    "booking_confirmed": later("Booking confirmed"),
    "booking_declined": later("Offered day turned down"),
    "booking_put_off": later("Booked day put off"),
    "booking_cancelled": later("Booking cancelled"),
    "booking_turned_away": later("Turned away"),
    "site_treated": later("Treated"),
}
"""What lists of e-mails call each kind."""


@register.filter
def subject(message) -> str:
    """What an e-mail is about, in a few words."""
    if message.kind in E_MAILS:
        return _(E_MAILS[message.kind])
    return message.kind.replace("_", " ").capitalize()

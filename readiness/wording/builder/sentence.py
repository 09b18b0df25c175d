"""What a builder reads about a site: one plain sentence, and the one next step.

All of it is worked out from the same facts and assessment as readiness itself, so it can't say
anything else than the reasons do.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.codes import Code
from readiness.rules.site.assessment import Assessment, BookingFacts, SiteFacts, VisitFacts
from readiness.rules.vocabulary import BookingState
from readiness.rules.words import listed, quoted
from readiness.wording import dates
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.builder.trades import trade_words
from readiness.wording.due import left_to_fix
from readiness.wording.saying import Saying, Step, Tone, Turn
from readiness.wording.visits import capital, half_day, offer


def _open_site() -> Step:
    return Step(_("Open the site"), "builder:site")


def _see_fixes() -> Step:
    return Step(_("See what to fix"), "builder:site", "#fixes")


def _confirm_ready() -> Step:
    return Step(_("Confirm readiness"), "builder:confirm", acts=True)


def _ask() -> Step:
    return Step(_("Ask for a day"), "builder:book", acts=True)


def _answer() -> Step:
    return Step(_("Answer the offer"), "builder:book", acts=True)


def _see_booking() -> Step:
    return Step(_("See the booking"), "builder:book")


def say(facts: SiteFacts, assessment: Assessment, closed: bool = False) -> Saying:
    """The sentence and next step of one site for its builder."""
    if closed:
        return Saying(_("This site is finished and archived."), step=_open_site())
    booking, away = facts.booking, facts.turned_away
    termites = _termites(assessment)
    if termites:
        return termites
    if booking and booking.state == BookingState.CONFIRMED:
        return _booked(facts, assessment)
    if facts.is_treated:
        return _treated(facts, assessment)
    if away and not facts.is_issued_after(away.closed_at):
        return _turned_away(away, assessment)
    first = (
        _to_fix(facts, assessment)
        or _being_checked(facts, assessment)
        or _drying(facts, assessment)
        or _in_its_own_words(assessment)
    )
    if first and away:
        return replace(first, sentence=f"{first.sentence} {_came(away)}.")
    return (
        first
        or (_turned_away(away, assessment) if away else None)
        or _confirmed(facts, assessment)
        or _to_confirm(facts, assessment)
    )


# Live termites


def _termites(assessment: Assessment) -> Saying | None:
    """Before all else: the builder is to leave all as it is."""
    found = [reason for reason in assessment.reasons if reason.code.is_about_termites]
    if not found:
        return None
    return Saying(BUILDER.sentence(found[0]), Tone.STOP, step=BUILDER.step(found[0]))


# Booked, treated, turned away


def _booked(facts: SiteFacts, assessment: Assessment) -> Saying:
    booked = _("Booked for %(when)s.") % {"when": half_day(facts.booking, facts.today)}
    if facts.booking.treat_on < facts.today:
        text = f"{booked} {_('We have not recorded the visit yet.')}"
        return Saying(text, Tone.WAIT, step=_see_booking())
    reasons = assessment.booking_reasons
    if not reasons:
        return Saying(booked, Tone.GO, step=_see_booking())
    to_do = sum(reason.code.is_to_do for reason in reasons)
    if to_do:
        text = ngettext(
            "Booked for %(when)s, but %(count)d thing still to fix.",
            "Booked for %(when)s, but %(count)d things still to fix.",
            to_do,
        ) % {"when": half_day(facts.booking, facts.today), "count": to_do}
        return Saying(text, Tone.STOP, Turn.BUILDERS, _see_fixes())
    if assessment.can_confirm and not assessment.waits_for_technician:
        text = _("Booked for %(when)s, but the site is no longer confirmed ready.")
        when = {"when": half_day(facts.booking, facts.today)}
        return Saying(text % when, Tone.STOP, Turn.BUILDERS, _confirm_ready())
    text = f"{booked} {BUILDER.sentence(reasons[0])}"
    return Saying(text, Tone.WAIT, step=_see_booking())


def _treated(facts: SiteFacts, assessment: Assessment) -> Saying:
    """It stays treated; what a later report found is still to fix."""
    treated = _("Treated on %(day)s.") % {"day": dates.long_day(facts.last_visit.day)}
    left = left_to_fix(facts, assessment)
    if left:
        found = _("Found since: %(left)s.") % {"left": left}
        return Saying(f"{treated} {found}", Tone.WAIT, Turn.BUILDERS, _see_fixes())
    checking = _checking(assessment)
    if checking:
        return Saying(f"{treated} {checking}", Tone.WAIT, step=_open_site())
    return Saying(treated, Tone.GO, step=_open_site())


def _turned_away(visit: VisitFacts, assessment: Assessment) -> Saying:
    why = f": {quoted(visit.note)}" if visit.note else "."
    text = f"{_came(visit)}{why} {_('Fix this, confirm again, then choose a new day.')}"
    if any(reason.code.is_to_do for reason in assessment.reasons):
        return Saying(text, Tone.STOP, Turn.BUILDERS, _see_fixes())
    if assessment.can_confirm:
        return Saying(text, Tone.STOP, Turn.BUILDERS, _confirm_ready())
    return Saying(text, Tone.STOP, step=_open_site())


def _came(visit: VisitFacts) -> str:
    return _("We came on %(day)s and could not treat the site") % {"day": dates.long_day(visit.day)}


# Things to fix


def _to_fix(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    todo = [reason for reason in assessment.confirm_reasons if reason.code.is_to_do]
    if not todo:
        return None
    left, trades = left_to_fix(facts, assessment), trade_words(reason.who for reason in todo)
    text = f"{left}."
    if trades:  # of several counts, the trades are no further one
        text = f"{left}. {capital(trades)}." if ", " in left else f"{left}, {trades}."
    if facts.offer_has_passed:
        text += f" {_offer(facts)}"
    elif facts.booking and facts.booking.state == BookingState.OFFERED:
        holding = ngettext(
            "We are holding %(when)s, if this is done.",
            "We are holding %(when)s, if these are done.",
            len(todo),
        )
        text += f" {holding % {'when': half_day(facts.booking, facts.today)}}"
    return Saying(capital(text), Tone.STOP, Turn.BUILDERS, _see_fixes())


# Waiting


def _being_checked(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    checking = _checking(assessment)
    if checking:
        return Saying(checking, Tone.WAIT, step=_open_site())
    missing = [reason for reason in assessment.confirm_reasons if reason.missing]
    if not missing:
        return None
    walls = [reason.run_label for reason in missing if reason.code is Code.RUN_UNCHECKED]
    if walls:
        text = _("We still have to check %(walls)s.") % {"walls": listed(walls)}
    elif not any(reason.code in (Code.NO_RUNS, Code.NO_REPORT) for reason in missing):
        return None
    else:
        asked = facts.booking is not None and facts.booking.state == BookingState.ASKED
        before = f"{_asked(facts.booking)} " if asked else ""
        text = f"{before}{_('We have not issued a report for this site yet.')}"
    return Saying(text, Tone.WAIT, step=_open_site())


def _checking(assessment: Assessment) -> str:
    """What waits for us, "" for nothing."""
    codes = Counter(reason.code for reason in assessment.confirm_reasons)
    fixes, disputed = codes[Code.WAITING_FOR_REVIEW], codes[Code.ITEM_DISPUTED]
    parts = []
    if fixes:
        parts.append(ngettext("%(count)d fix", "%(count)d fixes", fixes) % {"count": fixes})
    if disputed:
        words = ngettext(
            "%(count)d item that you dispute", "%(count)d items that you dispute", disputed
        )
        parts.append(words % {"count": disputed})
    return _("We still have to check %(what)s.") % {"what": listed(parts)} if parts else ""


def _drying(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    ends = [reason.at for reason in assessment.confirm_reasons if reason.until]
    if not ends:
        return None
    until = max(ends)
    text = _("Drying until %(time)s on %(day)s.") % {
        "time": dates.time_of_day(until),
        "day": dates.long_day(until),
    }
    return Saying(text, Tone.WAIT, step=_open_site())


def _in_its_own_words(assessment: Assessment) -> Saying | None:
    """The first reason that no sentence above is about."""
    if assessment.can_confirm:
        return None
    reason = assessment.confirm_reasons[0]
    return Saying(BUILDER.sentence(reason), Tone.WAIT, step=BUILDER.step(reason) or _open_site())


# Confirming and booking


def _confirmed(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    if not assessment.confirmation_in_force:
        return None
    booking = facts.booking
    if facts.offer_has_passed:
        text = f"{_offer(facts)} {_('Ask for another.')}"
        return Saying(text, Tone.WAIT, Turn.BUILDERS, _ask())
    if booking and booking.state == BookingState.OFFERED:
        return _offered(facts, assessment)
    if booking and booking.state == BookingState.ASKED:
        is_first = booking.was_asked and not booking.was_put_off
        will = _("We will offer one.") if is_first else _("We will offer another.")
        text = f"{_('Confirmed ready.')} {_asked(booking)} {will}"
        return Saying(text, Tone.WAIT, step=_see_booking())
    return Saying(_ready_until(facts), Tone.GO, Turn.BUILDERS, _ask())


def _offered(facts: SiteFacts, assessment: Assessment) -> Saying:
    if assessment.can_book:
        text = f"{_offer(facts)} {_('Accept to book.')}"
        return Saying(text, Tone.GO, Turn.BUILDERS, _answer())
    text = f"{_offer(facts)} {BUILDER.sentence(assessment.booking_reasons[0])}"
    if assessment.waits_for_technician:
        return Saying(text, Tone.WAIT, step=_see_booking())
    return Saying(text, Tone.STOP, Turn.BUILDERS, _answer())


def _ready_until(facts: SiteFacts) -> str:
    until = facts.confirmation.valid_until
    if until is None:
        return _("Confirmed ready: ask for a day.")
    day = dates.long_day(until.astimezone(facts.local_zone))
    return _("Confirmed ready until %(day)s: ask for a day.") % {"day": day}


def _asked(booking: BookingFacts) -> str:
    """How it came that a day is still to be offered."""
    if booking.was_put_off:
        return _("The booked day was put off.")
    if booking.was_asked:
        return _("You asked for a day.")
    return _("You turned down the day we offered.")


def _to_confirm(facts: SiteFacts, assessment: Assessment) -> Saying:
    text = _("Ready to confirm.")
    lapsed = [reason for reason in assessment.booking_reasons if reason.code.has_lapsed]
    if lapsed:
        text = f"{_('Ready to confirm again.')} {BUILDER.sentence(lapsed[0])}"
    elif facts.booking and facts.booking.state == BookingState.OFFERED:
        text = f"{text} {_offer(facts)}"
    return Saying(text, Tone.GO, Turn.BUILDERS, _confirm_ready())


def _offer(facts: SiteFacts) -> str:
    return offer(facts.booking, facts.today, facts.offer_has_passed)

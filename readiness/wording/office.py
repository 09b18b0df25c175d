"""What the office reads about a site: each reason, one plain sentence, one next step."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.codes import Code
from readiness.rules.site.assessment import Assessment, BookingFacts, Reason, SiteFacts
from readiness.rules.vocabulary import BookingState, ItemState, Trade
from readiness.rules.words import listed
from readiness.wording import dates
from readiness.wording.due import left_to_fix, things
from readiness.wording.reasons import (
    ITEMS,
    LAPSED,
    LEVELS,
    MISSING,
    WET,
    day_past,
    found_at,
    in_vain,
    item_words,
    where,
)
from readiness.wording.referrals import cause_words
from readiness.wording.saying import Audience, Saying, Step, Tone, Turn, Words
from readiness.wording.visits import capital, half_day, offer

# Each reason


def _disputed(reason: Reason) -> str:
    return item_words(reason, _("disputed by the builder, for us to decide"))


def _live_termites(reason: Reason) -> str:
    decide = _("Nothing can be booked until a licensed technician has decided.")
    return f"{found_at(reason)}. {decide}"


def _site_stays_closed(reason: Reason) -> str:
    return _(
        "Live termites: decided on %(day)s that the site stays closed. Nothing can be booked until "
        "a licensed technician decides anew."
    ) % {"day": dates.day(reason.day)}


def _access_undecided(reason: Reason) -> str:
    return _("%(where)s: nobody can reach it (%(why)s). A licensed technician has to decide.") % {
        "where": where(reason),
        "why": cause_words(reason.cause).lower(),
    }


def _not_confirmed(reason: Reason) -> str:
    return _("The builder has not confirmed readiness yet.")


def _again(words: Words) -> Words:
    """What is said of a confirmation that is no longer valid, and who acts."""
    return lambda reason: f"{words(reason)} {_('The builder has to confirm again.')}"


def _turned_away_reason(reason: Reason) -> str:
    again = _("The builder has to confirm readiness again before we can book a new day.")
    return f"{in_vain(reason)} {again}"


def _day_too_late(reason: Reason) -> str:
    return _(
        "The confirmation signed on %(confirmed)s covers days up to %(latest)s. Offer a day by "
        "then, or ask the builder to confirm again nearer %(day)s."
    ) % {
        "confirmed": dates.day(reason.confirmed_on),
        "latest": dates.day(reason.latest),
        "day": dates.day(reason.day),
    }


def _we_do_it(reason: Reason) -> str:
    return _("%(kind)s, %(where)s: we will do it on the day.") % {
        "kind": reason.kind_name,
        "where": where(reason),
    }


def _enter_walls(reason: Reason) -> Step:
    return Step(_("Enter the walls"), "office:walls")


def _start_report(reason: Reason) -> Step:
    return Step(_("Start the report"), "office:report_start")


def _see_wall(reason: Reason) -> Step:
    return Step(_("See the wall"), "office:site", f"#wall-{reason.run_id}")


def _see_item(reason: Reason) -> Step:
    return Step(_("See the item"), "office:item", about=reason.item_id)


def _other_day(reason: Reason) -> Step:
    return Step(_("Offer another day"), "office:booking")


def _decide(reason: Reason) -> Step:
    return Step(_("See and decide"), "office:referral", about=reason.referral_id or "")


OFFICE = Audience(
    "office",
    words={
        **MISSING,
        **ITEMS,
        **WET,
        **LEVELS,
        **{code: _again(words) for code, words in LAPSED.items()},
        Code.LIVE_TERMITES: _live_termites,
        Code.SITE_STAYS_CLOSED: _site_stays_closed,
        Code.ACCESS_UNDECIDED: _access_undecided,
        Code.ITEM_DISPUTED: _disputed,
        Code.NOT_CONFIRMED: _not_confirmed,
        Code.TURNED_AWAY: _turned_away_reason,
        Code.DATE_PAST: day_past,
        Code.DATE_TOO_LATE: _day_too_late,
        Code.APPLICATOR_WILL_DO: _we_do_it,
    },
    steps={
        Code.NO_RUNS: _enter_walls,
        Code.NO_REPORT: _start_report,
        Code.RUN_UNCHECKED: _see_wall,
        Code.LIVE_TERMITES: _decide,
        Code.SITE_STAYS_CLOSED: _decide,
        Code.ACCESS_UNDECIDED: _decide,
        Code.ITEM_TO_FIX: _see_item,
        Code.ITEM_SENT_BACK: _see_item,
        Code.ITEM_DISPUTED: _see_item,
        Code.WAITING_FOR_REVIEW: _see_item,
        Code.DRYING: _see_item,
        Code.RAIN: None,
        Code.NOT_CONFIRMED: None,
        Code.CONFIRMATION_WITHDRAWN: None,
        Code.CONFIRMATION_SUPERSEDED: None,
        Code.CONFIRMATION_NEW_ITEM: _see_item,
        Code.CONFIRMATION_EXPIRED: None,
        Code.RUN_UNTICKED: None,
        Code.TURNED_AWAY: None,
        Code.DATE_PAST: _other_day,
        Code.DATE_TOO_LATE: _other_day,
        Code.LEVELS_UNBELIEVABLE: _see_wall,
        Code.NO_LEVELS: _see_wall,
        Code.NO_STRUCK_JOINT: _see_wall,
        Code.LEVELS_SHORT: _see_wall,
        Code.LEVELS_TO_DECIDE: _see_wall,
        Code.SOIL_TO_CLEAR: _see_wall,
        Code.BARE_BRICK: _see_wall,
        Code.BRICKWORK_BOTTOM_UNKNOWN: None,
        Code.APPLICATOR_WILL_DO: _see_item,
    },
)


# The one sentence about a site


@dataclass(frozen=True)
class Desk:
    """What the office's sentence is worked out from; `draft` is the id of an unissued report."""

    facts: SiteFacts
    assessment: Assessment
    draft: str = ""
    closed: bool = False

    @cached_property
    def left(self) -> str:
        """What is still to fix, in words."""
        return left_to_fix(self.facts, self.assessment)

    @cached_property
    def when(self) -> str:
        """The half-day of the booking."""
        return half_day(self.facts.booking, self.facts.today)

    @cached_property
    def disputed(self) -> int:
        return sum(item.disputed for item in self.facts.items)

    @cached_property
    def fixes(self) -> int:
        """Items reported fixed that wait for our review."""
        items = self.facts.items
        return sum(item.state == ItemState.REPORTED_FIXED and not item.disputed for item in items)

    def is_booking(self, state: BookingState) -> bool:
        """Whether there is a booking under way in this state."""
        return self.facts.booking is not None and self.facts.booking.state == state


def say(desk: Desk) -> Saying:
    """The sentence and next step of one site for the office."""
    ways = (
        _archived, _termites, _booked, _unprepared, _drafted, _treated, _to_review, _turned_away,
        _access, _asked,
    )  # fmt: skip
    for find in ways:
        saying = find(desk)
        if saying:
            return saying
    return _with_builder(desk)


def _booking_step(label: str) -> Step:
    return Step(label, "office:booking")


def _archived(desk: Desk) -> Saying | None:
    return Saying(_("Archived.")) if desk.closed else None


def _termites(desk: Desk) -> Saying | None:
    """Before all else; with the day that is booked all the same, or that it was treated."""
    found = [reason for reason in desk.assessment.reasons if reason.code.is_about_termites]
    if not found:
        return None
    text = OFFICE.sentence(found[0])
    if desk.is_booking(BookingState.CONFIRMED):
        booked = _("Booked for %(when)s: cancel it, or tell the crew not to start.")
        text = f"{text} {booked % {'when': desk.when}}"
    elif desk.facts.is_treated:
        text = f"{text} {_treated_on(desk)}"
    return Saying(text, Tone.STOP, Turn.OURS, OFFICE.step(found[0]))


def _access(desk: Desk) -> Saying | None:
    """A wall that nobody can reach, once nothing else is left."""
    if not desk.assessment.waits_for_technician:
        return None
    reason = desk.assessment.booking_reasons[0]
    return Saying(OFFICE.sentence(reason), Tone.WAIT, Turn.OURS, OFFICE.step(reason))


def _booked(desk: Desk) -> Saying | None:
    if not desk.is_booking(BookingState.CONFIRMED):
        return None
    day, today = desk.facts.booking.treat_on, desk.facts.today
    booked = _("Booked for %(when)s.") % {"when": desk.when}
    if day < today:
        text = f"{booked} {_('Visit not recorded yet.')}"
        return Saying(text, Tone.WAIT, Turn.OURS, _booking_step(_("Record the visit")))
    count = len(desk.assessment.booking_reasons)
    if count:
        text = ngettext(
            "Booked for %(when)s, but %(count)d thing still blocks it.",
            "Booked for %(when)s, but %(count)d things still block it.",
            count,
        ) % {"when": desk.when, "count": count}
        if desk.assessment.waits_for_technician:
            step = OFFICE.step(desk.assessment.booking_reasons[0])
            return Saying(text, Tone.STOP, Turn.OURS, step)
        step = _review_step(desk) or _booking_step(_("See why"))
        return Saying(text, Tone.STOP, Turn.BUILDERS, step)
    label = _("Record the visit") if day == today else _("Open the booking")
    return Saying(booked, Tone.GO, Turn.OURS, _booking_step(label))


def _unprepared(desk: Desk) -> Saying | None:
    if desk.facts.runs:
        return None
    step = Step(_("Enter the walls"), "office:walls")
    return Saying(_("No walls entered yet."), Tone.WAIT, Turn.OURS, step)


def _drafted(desk: Desk) -> Saying | None:
    if not desk.draft:
        return None
    step = Step(_("Continue the report"), "office:report", about=desk.draft)
    return Saying(_("A draft report is not issued yet."), Tone.WAIT, Turn.OURS, step)


def _treated(desk: Desk) -> Saying | None:
    """It stays treated, whatever a later report found."""
    if not desk.facts.is_treated:
        return None
    treated = _treated_on(desk)
    to_review = _to_review(desk) if desk.facts.report else None
    if to_review:
        text = f"{treated} {to_review.sentence}"
        return Saying(text, Tone.WAIT, Turn.OURS, to_review.step)
    if desk.left:
        text = f"{treated} {_('Found since: %(left)s.') % {'left': desk.left}}"
        return Saying(text, Tone.WAIT, Turn.BUILDERS)
    return Saying(treated, Tone.GO)


def _treated_on(desk: Desk) -> str:
    return _("Treated on %(day)s.") % {"day": dates.long_day(desk.facts.last_visit.day)}


def _turned_away(desk: Desk) -> Saying | None:
    visit = desk.facts.turned_away
    if visit is None:
        return None
    away = _("Turned away on %(day)s.") % {"day": dates.long_day(visit.day)}
    todo = (
        f"{capital(desk.left)}." if desk.left else _("The builder has to confirm readiness again.")
    )
    return Saying(f"{away} {todo}", Tone.STOP, Turn.BUILDERS)


def _to_review(desk: Desk) -> Saying | None:
    if desk.facts.report is None:
        step = Step(_("Start the report"), "office:report_start")
        return Saying(_("No report yet."), Tone.WAIT, Turn.OURS, step)
    step = _review_step(desk)
    if step is None:
        return None
    return Saying(f"{review_words(desk.fixes, desk.disputed)}.", Tone.WAIT, Turn.OURS, step)


def review_words(fixes: int, disputes: int) -> str:
    """ "2 fixes to review and 1 dispute to decide"; "" for neither."""
    parts = []
    if fixes:
        words = ngettext("%(count)d fix to review", "%(count)d fixes to review", fixes)
        parts.append(words % {"count": fixes})
    if disputes:
        words = ngettext("%(count)d dispute to decide", "%(count)d disputes to decide", disputes)
        parts.append(words % {"count": disputes})
    return listed(parts)


def _review_step(desk: Desk) -> Step | None:
    if not desk.fixes and not desk.disputed:
        return None
    return Step(_("Review") if desk.fixes else _("Decide"), "office:review")


def _asked(desk: Desk) -> Saying | None:
    step = _booking_step(_("Offer a day"))
    if desk.is_booking(BookingState.ASKED):
        text = f"{asked(desk.facts.booking)} {_how_far(desk)}"
        return Saying(text, Tone.WAIT, Turn.OURS, step)
    if desk.facts.booking is None and desk.assessment.can_book:
        return Saying(_("Confirmed ready. Offer a day."), Tone.GO, Turn.OURS, step)
    return None


def asked(booking: BookingFacts) -> str:
    """How it came that a day is still to be offered."""
    if booking.was_put_off:
        return _("The booked day was put off.")
    if booking.was_asked:
        return _("The builder has asked for a day.")
    return _("The builder turned down the day we offered.")


def _how_far(desk: Desk) -> str:
    """How far the site is, in a few words, behind another sentence."""
    if desk.assessment.can_book:
        return _("Confirmed ready.")
    left = sum(reason.code.is_to_do for reason in desk.assessment.confirm_reasons)
    if left:
        return _("%(things)s still to fix.") % {"things": things(left)}
    return _("Not confirmed ready yet.")


def _with_builder(desk: Desk) -> Saying:
    facts, reasons = desk.facts, desk.assessment.confirm_reasons
    passed, offered = facts.offer_has_passed, ""
    if desk.is_booking(BookingState.OFFERED):
        offered = offer(facts.booking, facts.today, passed)
    if desk.left:
        return Saying(f"{capital(desk.left)}. {offered}".strip(), Tone.STOP, Turn.BUILDERS)
    if reasons:
        return _first_reason(reasons[0])
    if passed:
        return Saying(offered, Tone.WAIT, Turn.OURS, _booking_step(_("Offer another day")))
    if offered:
        text = f"{offered} {_('The builder has to accept it.')}"
        return Saying(text, Tone.WAIT, Turn.BUILDERS)
    return Saying(_("Ready. The builder has to confirm it."), Tone.GO, Turn.BUILDERS)


def _first_reason(reason: Reason) -> Saying:
    text = OFFICE.sentence(reason)
    if reason.who != Trade.APPLICATOR:
        return Saying(text, Tone.WAIT, Turn.BUILDERS)
    step = Step(_("Start a report"), "office:report_start")
    return Saying(text, Tone.WAIT, Turn.OURS, step)
